"""Registers on their pages: picked, asked, looked at and printed; who may, and what a question that cannot be gets."""

import re
from datetime import date, timedelta
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest
from django.test import Client
from django.utils import timezone
from stdnum.iso7064 import mod_37_36

from crews import policy
from crews.models import Crew
from equipment.models import Printing
from equipment.models.registers import REGISTERS
from equipment.pages.registers import days, limits, showing
from tests.cast import ROLES, Farm
from tests.documents import reading
from tests.farm import SignIn
from tests.printing import at, take_back, write
from tests.washing import text


@pytest.fixture
def bags(ruled_farm: Farm) -> list[str]:
    """Two bags that went to the red crew four days ago, and one that went to the blue one."""
    tags = ruled_farm.gear("bag", 3, days_ago=20)
    for tag, crew, picker in zip(tags, ("red", "red", "blue"), ("ana", "ben", "cy"), strict=True):
        write(ruled_farm, "handed_out", at(4), tag, crew=crew, picker=picker)
    return tags


def body(response: Any) -> bytes:
    return b"".join(response.streaming_content) if response.streaming else response.content


def lately(**more: str) -> dict[str, str]:
    today = timezone.localdate()
    return {"first": f"{today - timedelta(days=7)}", "last": f"{today}", **more}


def printed(client: Client, name: str, form: str = "pdf", **more: str) -> tuple[Printing, bytes]:
    """What was kept, and the file."""
    answer = client.post(f"/registers/{name}/", lately(form=form, **more))
    assert answer.status_code == 302, text(answer)
    printing = Printing.objects.first()
    assert answer["Location"].startswith(f"/registers/printings/{printing.code}/")
    return printing, body(client.get(answer["Location"]))


@pytest.mark.parametrize("name", ROLES)
def test_everybody_sees_the_registers_that_they_may_print(name: str, as_: SignIn, ruled_farm: Farm) -> None:
    client = as_(name)
    page = client.get("/registers/").content.decode()
    for register in REGISTERS.values():
        may = policy.may_print(ruled_farm.users[name], register.name)
        assert (f'href="/registers/{register.name}/"' in page) == may
        assert (register.about in page) == may
        assert client.get(f"/registers/{register.name}/").status_code == (200 if may else 403)
        answer = client.post(f"/registers/{register.name}/", lately(form="csv"))
        assert (answer.status_code == 403) == (not may)
    assert ('href="/verify/"' in page) == (name in ("rosa", "olga", "frank"))


def test_a_refusal_is_in_our_words(as_: SignIn) -> None:
    answer = as_("sam").get("/registers/sanitation/")
    assert answer.status_code == 403 and "Your work does not include this page." in answer.content.decode()
    assert as_("olga").get("/registers/unheard-of/").status_code == 404


def test_every_register_opens_with_last_week_or_asks_for_what_it_needs(as_: SignIn, bags: list[str]) -> None:
    for name in REGISTERS:
        _opens(name, as_("olga").get(f"/registers/{name}/"))


def _opens(name: str, page: Any) -> None:
    monday, sunday = days.last_week(timezone.localdate())
    assert (monday.weekday(), sunday.weekday()) == (0, 6) and timezone.localdate() - sunday <= timedelta(
        days=7
    )
    if REGISTERS[name].needs:
        assert "Choose a p" in text(page)
    else:
        assert f'value="{monday}"' in page.content.decode() and f'value="{sunday}"' in page.content.decode()
    for caution in REGISTERS[name].cautions:
        assert caution and "Take care" in page.content.decode()


def test_the_first_lines_are_shown_with_what_they_add_up_to(as_: SignIn, bags: list[str]) -> None:
    answer = as_("olga").get("/registers/handout/", lately())
    page = text(answer)
    assert "3 lines." in page and "Red crew" in page and "Ana (1)" in page
    assert "7 days without an entry" in page
    assert f'href="/gear/{bags[0]}/"' in answer.content.decode()


def test_long_ones_show_their_beginning(
    as_: SignIn, bags: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(showing, "SHOWN", 2)
    page = as_("olga").get("/registers/handout/", lately())
    assert "The first 2 lines are shown" in text(page) and "3 lines." in text(page)
    assert page.content.decode().count('href="/gear/BG') == 2


def test_it_is_narrowed(as_: SignIn, bags: list[str], ruled_farm: Farm) -> None:
    red = ruled_farm.crews["red"].pk
    for name, asked, says in (
        ("handout", {"crew": red}, "2 lines."),
        ("handout", {"kind": "bag"}, "3 lines."),
        ("handout", {"kind": "ladder"}, "No entries: the book has nothing of it"),
        ("handout", {"store": "B"}, "No entries: the book has nothing of it"),
        ("gear-card", {"picker": "Ana"}, "1 line."),
        ("gear-card", {"picker": "3"}, "1 line."),
    ):
        assert says in text(as_("olga").get(f"/registers/{name}/", lately(**asked)))


def test_a_picker_is_found_by_their_card(as_: SignIn, bags: list[str], ruled_farm: Farm) -> None:
    page = as_("olga").get("/registers/gear-card/", lately(picker=ruled_farm.badges["ben"].lower()))
    assert "Ben (2)" in text(page)
    printing, _file = printed(as_("olga"), "gear-card", picker=ruled_farm.badges["ben"])
    assert printing.what.picker == ruled_farm.pickers["ben"].pk


def coded(body_of_code: str) -> str:
    return body_of_code + str(mod_37_36.calc_check_digit(body_of_code))


CANNOT = (
    ("handout", {"first": "2026-06-03", "last": "2026-06-01"}, "The last day lies before the first."),
    ("handout", {"first": "0001-01-01"}, "Choose a day of the years 1970 to 2199."),
    ("handout", {"last": "9999-12-31"}, "Choose a day of the years 1970 to 2199."),
    ("handout", {"first": "soon"}, "Enter a valid date."),
    ("handout", {"first": ""}, "This field is required."),
    ("handout", {"crew": "CW9999X"}, "There is no such choice, or it is not yours to see."),
    ("handout", {"store": "<b>"}, "There is no such choice, or it is not yours to see."),
    ("gear-card", {"picker": "zeppelin"}, "Nobody is found by “zeppelin”."),
    ("gear-card", {"picker": "PK0001X"}, "PK0001X was misread"),
    ("gear-card", {"picker": coded("PK9009")}, "Nobody is found by"),
    ("gear-card", {"picker": "n"}, "Several are found by “n”: Ana (1), Ben (2). Type the number of one."),
    ("gear-card", {}, "Choose a picker: this register is of one person."),
    ("item-life", {"tag": "BG0001"}, "is not a code"),
    ("item-life", {"tag": coded("ZZ9999")}, "No piece has the code ZZ9999"),
    ("item-life", {}, "Choose a piece: this register is of one piece."),
)


def test_what_cannot_be_answered_says_what_to_do(as_: SignIn, bags: list[str]) -> None:
    olga = as_("olga")
    for name, asked, says in CANNOT:
        looked = olga.get(f"/registers/{name}/", lately() | asked)
        assert looked.status_code == 200 and says in text(looked), asked
        answer = olga.post(f"/registers/{name}/", lately(form="pdf") | asked)
        assert answer.status_code == 400 and says in text(answer), asked
    assert not Printing.objects.exists()


@pytest.mark.parametrize("form", ["pdf", "xlsx", "csv"])
def test_what_is_shown_is_printed_and_kept(form: str, as_: SignIn, bags: list[str], ruled_farm: Farm) -> None:
    printing, file = printed(as_("olga"), "handout", form, crew=ruled_farm.crews["red"].pk)
    assert (printing.register, printing.form, printing.lines) == ("handout", form, 2)
    assert printing.by == ruled_farm.users["olga"] and printing.what.crew == ruled_farm.crews["red"].pk
    first, last = printing.what.first, printing.what.last
    answer = as_("olga").get(f"/registers/printings/{printing.code}/")
    assert f'filename="handout-{first}-to-{last}-{printing.code}.{form}"' in answer["Content-Disposition"]
    assert form != "csv" or body(answer) == file
    answer.close()
    if form == "pdf":
        said = " ".join(reading.words(file))
        assert printing.code in said and bags[0] in said and bags[2] not in said
    if form == "csv":
        assert bags[0] in file.decode() and bags[2] not in file.decode()
    assert file[:2] == {"pdf": b"%P", "xlsx": b"PK", "csv": "\ufeff".encode()[:2]}[form]


def test_the_sheet_is_a4_or_letter(as_: SignIn, bags: list[str]) -> None:
    sizes = {size: reading.sizes(printed(as_("olga"), "faults", paper=size)[1]) for size in ("A4", "Letter")}
    assert all({*size} in ({210.0, 297.0}, {215.9, 279.4}) for (size,) in sizes.values())
    assert sizes["A4"] != sizes["Letter"]


def test_nothing_may_be_printed_as_nothing(as_: SignIn) -> None:
    page = text(as_("olga").get("/registers/losses/", lately()))
    assert (
        "No entries: the book has nothing of it in these days." in page
        and "It can be printed all the same" in page
    )
    printing, file = printed(as_("olga"), "losses")
    assert printing.lines == 0
    assert "No line: the book has nothing of it in these days." in " ".join(reading.words(file))


def test_show_leads_to_an_address_that_can_be_kept(as_: SignIn, bags: list[str], ruled_farm: Farm) -> None:
    answer = as_("olga").post("/registers/handout/", lately(kind="bag", crew=""))
    query = parse_qs(urlsplit(answer["Location"]).query)
    assert query == {name: [value] for name, value in lately(kind="bag").items()}
    assert not Printing.objects.exists()
    assert "3 lines." in text(as_("olga").get(answer["Location"]))


def test_looking_and_loading_again_print_nothing(as_: SignIn, bags: list[str]) -> None:
    printing, _answer = printed(as_("olga"), "handout", "csv")
    for _time in range(3):
        assert as_("olga").get(f"/registers/printings/{printing.code}/").status_code == 200
        as_("olga").get("/registers/handout/", lately(form="pdf"))
    assert Printing.objects.count() == 1


def test_printing_is_a_change_that_a_foreign_page_cannot_make(ruled_farm: Farm) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(ruled_farm.users["olga"], backend="crews.signing_in.RoleBackend")
    assert client.post("/registers/handout/", lately(form="pdf")).status_code == 403
    assert not Printing.objects.exists()


def test_the_same_printing_is_made_again_whatever_was_recorded_since(
    as_: SignIn, bags: list[str], ruled_farm: Farm
) -> None:
    printing, before = printed(as_("olga"), "handout", "csv")
    write(ruled_farm, "handed_out", at(0, "00:01"), bags[0], crew="red", picker="ben")
    take_back(ruled_farm, write(ruled_farm, "returned", at(0, "00:02"), bags[1]))
    page = as_("olga").get("/registers/").content.decode()
    (again,) = re.findall(r'href="(/registers/printings/[^"]+)"', page)
    assert body(as_("frank").get(again)) == before
    assert printing.code in page and f"/verify/{printing.code}/" in page
    assert body(as_("rosa").get(again)) == before


@pytest.mark.parametrize("code", ["PR9999", "PR0001X", "BG0001X", "x"])
def test_a_printing_that_never_was_is_404(code: str, as_: SignIn) -> None:
    assert as_("olga").get(f"/registers/printings/{code}/").status_code == 404


def test_what_the_book_no_longer_says_is_not_made_again(as_: SignIn, bags: list[str]) -> None:
    for form in ("pdf", "xlsx", "csv"):
        printing, _answer = printed(as_("olga"), "handout", form)
        Printing.objects.filter(pk=printing.pk).update(digest="0" * 64)
        answer = as_("olga").get(f"/registers/printings/{printing.code}/", follow=True)
        assert answer.redirect_chain == [(f"/verify/{printing.code}/", 302)]
        assert "It cannot be made again" in body(answer).decode()


def test_a_supervisor_prints_of_their_own_crews_only(as_: SignIn, bags: list[str], ruled_farm: Farm) -> None:
    red, blue = ruled_farm.crews["red"].pk, ruled_farm.crews["blue"].pk
    sam = as_("sam")
    page = sam.get("/registers/handout/", lately())
    assert "2 lines." in text(page) and bags[2] not in page.content.decode()
    assert f'value="{red}" selected' in page.content.decode() and blue not in page.content.decode()
    assert printed(sam, "handout")[0].what.crew == red
    for answer in (
        sam.get("/registers/handout/", lately(crew=blue)),
        sam.post("/registers/handout/", lately(crew=blue, form="csv")),
    ):
        assert "There is no such choice, or it is not yours to see." in text(answer)
        assert bags[2] not in answer.content.decode() and Printing.objects.count() == 1
    assert "Nobody is found by" in text(sam.get("/registers/gear-card/", lately(picker="Cy", crew=red)))
    assert printed(sam, "gear-card", picker="Ana")[0].what.picker == ruled_farm.pickers["ana"].pk


def test_a_supervisor_gets_no_printing_of_other_crews(as_: SignIn, bags: list[str], ruled_farm: Farm) -> None:
    of_all, _file = printed(as_("olga"), "handout", "csv")
    of_red, _file = printed(as_("olga"), "handout", "csv", crew=ruled_farm.crews["red"].pk)
    sam = as_("sam")
    assert sam.get(f"/registers/printings/{of_all.code}/").status_code == 403
    assert sam.get(f"/registers/printings/{of_red.code}/").status_code == 200
    page = sam.get("/registers/").content.decode()
    assert of_red.code in page and of_all.code not in page
    assert f"/verify/{of_red.code}/" not in page


def test_a_supervisor_without_a_crew_is_told(as_: SignIn, ruled_farm: Farm) -> None:
    Crew.objects.update(supervisor=None)
    page = as_("sam").get("/registers/handout/", lately())
    assert page.status_code == 200 and "This field is required." in text(page)


@pytest.mark.parametrize("form", ["pdf", "xlsx"])
def test_too_many_lines_are_offered_in_smaller_pieces(
    form: str, as_: SignIn, bags: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(showing, "MOST_ON_PAPER", 2)
    decade = {"first": "2017-01-01", "last": f"{timezone.localdate()}"}
    page = as_("olga").get("/registers/handout/", decade)
    assert "too many for one paper" in text(page) and "CSV takes them all" in text(page)
    answer = as_("olga").post("/registers/handout/", decade | {"form": form})
    assert answer.status_code == 400 and not Printing.objects.exists()
    offers = answer.content.decode().partition("too many for one paper")[2]
    years = re.findall(r'href="\?([^"]+)"', offers)
    assert years[0] == "first=2017-01-01&amp;last=2017-12-31" and years[-1].endswith(
        f"last={timezone.localdate()}"
    )
    assert len(years) == timezone.localdate().year - 2016
    printing = as_("olga").post("/registers/handout/", decade | {"form": "csv"})
    assert len(body(as_("olga").get(printing["Location"])).splitlines()) > 3
    monkeypatch.setattr(showing, "MOST_ON_PAPER", 3)
    assert as_("olga").post("/registers/handout/", decade | {"form": form}).status_code == 302


def test_a_large_register_is_not_counted_to_its_end(
    monkeypatch: pytest.MonkeyPatch, as_: SignIn, bags: list[str]
) -> None:
    monkeypatch.setattr(showing, "MOST_ON_PAPER", 1)
    assert "3 lines" not in text(as_("olga").get("/registers/handout/", lately()))
    monkeypatch.setattr(showing, "MOST_ON_PAPER", limits.MOST_ON_PAPER)
    assert "3 lines" in text(as_("olga").get("/registers/handout/", lately()))
    monkeypatch.setattr(showing, "MOST_SECONDS", -1)
    assert "too many for one paper" in text(as_("olga").get("/registers/handout/", lately()))


def test_periods_are_cut_into_the_largest_pieces_that_there_are() -> None:
    cut = {
        (date(2017, 3, 1), date(2019, 1, 1)): ["2017", "2018", "2019"],
        (date(2026, 1, 1), date(2026, 3, 1)): ["January 2026", "February 2026", "March 2026"],
        (date(2026, 6, 3), date(2026, 6, 10)): ["3 Jun to 7 Jun 2026", "8 Jun to 10 Jun 2026"],
        (date(2026, 6, 1), date(2026, 6, 2)): ["Mon 1 Jun 2026", "Tue 2 Jun 2026"],
        (date(2026, 6, 1), date(2026, 6, 1)): [],
    }
    for (first, last), words in cut.items():
        pieces = days.smaller(first, last)
        assert [piece.words for piece in pieces] == words
        covered = [
            piece.first + timedelta(days=n)
            for piece in pieces
            for n in range((piece.last - piece.first).days + 1)
        ]
        assert covered == [first + timedelta(days=n) for n in range(len(covered))]


def test_presets_are_days_that_make_sense(ruled_farm: Farm) -> None:
    for days_ago in (200, 40, 3):
        ruled_farm.plan("red", "N4", -days_ago)
    today = timezone.localdate()
    found = {preset.words: preset for preset in days.presets(today)}
    assert found["Yesterday"].first == found["Yesterday"].last == today - timedelta(days=1)
    assert found["This week"].first.weekday() == 0 and found["This month"].first.day == 1
    assert found["Last month"].last + timedelta(days=1) == found["This month"].first
    assert found["The season"].first == today - timedelta(days=40)
    assert (
        found["The whole book"].first == timezone.localdate(at(30)) or found["The whole book"].first < today
    )


def test_queries_do_not_grow(
    as_: SignIn, bags: list[str], ruled_farm: Farm, django_assert_max_num_queries: Any
) -> None:
    client = as_("olga")
    for number in range(12):
        tag = ruled_farm.gear("bag", days_ago=20)[0]
        write(ruled_farm, "handed_out", at(3, f"06:{number:02}"), tag, crew="red", picker="ana")
        printed(client, "handout", "csv", crew=ruled_farm.crews["red" if number % 2 else "blue"].pk)
    with django_assert_max_num_queries(10):
        client.get("/registers/")
    with django_assert_max_num_queries(30):
        client.get("/registers/handout/", lately())


def test_charts_are_shown_to_those_who_may_print_their_registers(as_: SignIn, ruled_farm: Farm) -> None:
    tag = ruled_farm.gear("bag", days_ago=20)[0]
    write(ruled_farm, "fault_found", at(3), tag, detail={"fault": "bag_hole"})
    write(ruled_farm, "written_off", at(2), tag, detail={"circumstance": "stolen"})
    olga, mo = as_("olga"), as_("mo")
    page = olga.get("/registers/charts/", lately())
    assert (
        "Hole" in text(page) and "stolen" in text(page) and "No piece that must be sterilised" in text(page)
    )
    (picture, _second) = re.findall(r'<img class="chart" src="([^"]+)"', page.content.decode())
    answer = olga.get(picture.replace("&amp;", "&"))
    assert answer["Content-Type"] == "image/svg+xml" and b"Hole" in answer.content
    assert "Written off, by month" not in text(mo.get("/registers/charts/", lately()))
    assert mo.get("/registers/charts/losses.svg", lately()).status_code == 403
    assert as_("sam").get("/registers/charts/").status_code == 403
    assert olga.get("/registers/charts/unheard-of.svg").status_code == 404
    assert (
        olga.get("/registers/charts/losses.svg", {"first": "2001-01-01", "last": "2001-01-02"}).status_code
        == 404
    )


def test_charts_are_taken_along(as_: SignIn, ruled_farm: Farm) -> None:
    tag = ruled_farm.gear("bag", days_ago=20)[0]
    write(ruled_farm, "fault_found", at(3), tag, detail={"fault": "bag_hole"})
    olga, asked = as_("olga"), lately(store="A")
    table = olga.get("/registers/charts/faults.csv", asked)
    assert "Picking bag" in table.content.decode() and table.content.decode().rstrip().endswith(",1")
    assert f'filename="faults-{asked["first"]}-to-{asked["last"]}.csv"' in table["Content-Disposition"]
    assert (
        "attachment"
        in olga.get("/registers/charts/faults.svg", asked | {"download": ""})["Content-Disposition"]
    )
    paper = olga.get("/registers/charts.pdf", asked)
    assert "recorded in Store A" in reading.words(paper.content)[0]
    for path in ("/registers/charts.pdf", "/registers/charts/faults.csv"):
        wrong = olga.get(path, {"first": "2026-02-02", "last": "2026-02-01"}, follow=True)
        assert "The last day lies before the first." in text(wrong)
