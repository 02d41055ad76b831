"""The figures' pages: what is advised, tables beside drawings, both to take along; who may see; what has no history."""

import csv
import io

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from equipment.actions.set_rule import set_rule
from equipment.documents.figures import PAGES, around, kept, lifetimes
from tests.cast import Farm
from tests.documents import reading
from tests.farm import SignIn
from tests.printing import at, write
from tests.wearing import SPRING, Wearing, worn

pytestmark = pytest.mark.django_db


@pytest.fixture
def story(ruled_farm: Farm) -> Wearing:
    return worn(ruled_farm)


def page(client: Client, address: str, **asked: str) -> str:
    response = client.get(f"/figures/{address}", asked)
    assert response.status_code == 200, response.status_code
    return " ".join(response.content.decode().split())


def table(client: Client, name: str, which: str) -> list[dict[str, str]]:
    text = client.get(f"/figures/{name}/{which}.csv").content.decode("utf-8-sig")
    rows = list(csv.reader(io.StringIO(text)))
    start = rows.index([]) + 1
    return [dict(zip(rows[start], row, strict=True)) for row in rows[start + 1 :]]


def test_what_to_do_stands_first(story: Wearing, as_: SignIn) -> None:
    said = page(as_("frank"), "")
    assert "Clippers of make A: put right what fails (“Worn spring”) after about" in said
    assert "A planned change costs 4, a failure in the orchard 22." in said
    assert "Clippers, delivery D1: 6 of 6 pieces failed so far, sooner than the other deliveries." in said
    assert "Clippers of make B" not in said  # nothing to do about it
    assert "Clippers of make B: none of 6 failed" in page(as_("frank"), "lifetimes/")
    for name in PAGES:
        assert f'href="/figures/{name}/"' in said
    assert 'href="/figures/lifetimes-clippers/"' in said


def test_without_a_history_it_is_said_what_to_do(as_: SignIn) -> None:
    client = as_("frank")
    assert "No gear has been in use yet" in page(client, "")
    for name in PAGES:
        said = page(client, f"{name}/")
        assert PAGES[name].about in said and "<table" not in said and 'class="chart"' not in said, name
        assert client.get(f"/figures/{name}/all.pdf").status_code == 200
    assert "Nothing has been in use of this kind." in page(client, "lifetimes-bag/")


def test_each_table_has_its_drawing_and_both_are_taken_along(story: Wearing, as_: SignIn) -> None:
    client = as_("frank")
    for name, which in (
        ("lifetimes", "lifetimes"),
        ("lifetimes-clippers", "make-1"),
        ("spares", "spares"),
        ("spares", "swaps"),
        ("purchases", "purchases"),
        ("costs", "costs"),
    ):
        said = page(client, f"{name}/")
        assert f'src="/figures/{name}/{which}.svg?' in said and "<table" in said, which
        picture = client.get(f"/figures/{name}/{which}.svg")
        assert picture["Content-Type"] == "image/svg+xml" and b"<svg" in picture.content
        assert table(client, name, which), which
        assert "The entries behind it:" in said
        paper = client.get(f"/figures/{name}/all.pdf")
        assert paper["Content-Type"] == "application/pdf"
        words = reading.words(paper.content)
        assert any(row in " ".join(words) for row in ("Clippers", "Hours in use")), which


def test_lifetimes_by_make_lead_to_the_pieces(story: Wearing, as_: SignIn) -> None:
    client = as_("mo")
    a, b = table(client, "lifetimes", "lifetimes")
    assert (a["Make"], a["Pieces used"], a["Failed"]) == ("A", "6", "6")
    assert (b["Make"], b["Failed"], b["Half have failed by"], b["95 % limits"]) == (
        "B",
        "0",
        "not yet",
        b["95 % limits"],
    )
    assert b["95 % limits"].endswith("or more")
    said = page(client, "lifetimes-clippers/")
    assert said.count("/gear/CL") == 6 and "/gear/?kind=clippers" in said
    assert "they differ: luck alone would do this with a chance of" in said
    assert "6 faults in" in said and "Weibull law" in said and "a planned change at 4" in said
    curve = table(client, "lifetimes-clippers", "make-1")
    assert curve[-1]["Still working"] == "0.0 %" and curve[-1]["In use so long"] == "2"


def test_spares_are_for_a_day_of_the_crew(story: Wearing, as_: SignIn) -> None:
    blue, red = table(as_("rosa"), "spares", "spares")
    assert (blue["Crew"], red["Crew"], red["Gear"]) == ("Blue crew", "Red crew", "Clippers")
    assert blue["Hours in use a day"] == "42.0"  # six pairs, seven hours each
    kind, make = table(as_("rosa"), "spares", "swaps")
    assert (kind["Gear"], kind["Swaps"], make["Gear"]) == ("Clippers", "6", "Clippers, make A")
    expected = 42 * (6 + 0.5) / float(kind["Hours in use"].replace(",", ""))
    assert float(blue["Swaps expected"]) == pytest.approx(expected, abs=0.05)
    assert int(blue["Spares to carry"]) > expected and blue["Known from"].startswith("6 in ")


def test_the_level_that_the_farm_sets_is_kept_to(story: Wearing, as_: SignIn, ruled_farm: Farm) -> None:
    before = table(as_("frank"), "spares", "spares")
    now = timezone.now()
    set_rule(ruled_farm.users["frank"], "figures farm", {"level_pct": 50}, "there are runners", now)
    after = table(as_("frank"), "spares", "spares")
    for one, other in zip(before, after, strict=True):
        assert float(one["Chance of running short"].removesuffix(" %")) <= 5
        assert 5 < float(other["Chance of running short"].removesuffix(" %")) <= 50
        assert int(other["Spares to carry"]) <= int(one["Spares to carry"])


def test_costs_are_of_days_and_of_no_person(story: Wearing, as_: SignIn) -> None:
    client = as_("olga")
    said = page(client, "costs/")
    assert "Lost: 150.00. To replace what wore out: 0.00. Mending took 0 minutes." in said
    assert "It proves no debt of anyone" in said
    rows = table(client, "costs", "costs")
    assert [row["Crew"] for row in rows] == ["Blue crew"]
    assert not any(name in str(rows) for name in ("Ana", "Ben", "Cy"))
    today = timezone.localdate().isoformat()
    assert "Nothing was written off or mended in these days." in page(
        client, "costs/", first=today, last=today
    )
    assert "<table" not in page(client, "costs/", first="2026-02-02", last="2026-01-01")
    assert client.get("/figures/costs/costs.csv", {"first": "soon"}).status_code == 404


def test_who_may_see_them(story: Wearing, as_: SignIn) -> None:
    for name in ("rosa", "mo"):
        assert "/figures/costs/" not in page(as_(name), "")
        assert as_(name).get("/figures/costs/").status_code == 403
        assert as_(name).get("/figures/costs/costs.csv").status_code == 403
        page(as_(name), "lifetimes/")
    assert as_("sam").get("/figures/").status_code == 403
    assert as_("frank").get("/figures/nothing/").status_code == 404
    assert as_("frank").get("/figures/lifetimes-nothing/").status_code == 404
    assert as_("frank").get("/figures/lifetimes/other.svg").status_code == 404


def test_a_ladder_is_never_reckoned_without_its_caution(ruled_farm: Farm, as_: SignIn) -> None:
    story = Wearing(ruled_farm, first=40)
    (ladder,) = ruled_farm.gear("ladder", days_ago=42, make="C")
    story.day(ladder, 30)
    assert "every one is looked at" in page(as_("frank"), "lifetimes/")


def test_zero_cost_asks_for_costs(story: Wearing, as_: SignIn, ruled_farm: Farm) -> None:
    now = timezone.now()
    set_rule(ruled_farm.users["frank"], "figures clippers", {"planned_cost": 0}, "nobody knows", now)
    assert "Say in the rules what a planned change and a failure cost" in page(as_("frank"), "")
    rules = as_("frank").get("/rules/figures-clippers/").content.decode()
    assert "Nobody has said what a planned change and a failure cost." in rules


def test_what_was_counted_is_kept_until_the_book_goes_on(story: Wearing, as_: SignIn) -> None:
    client = as_("frank")
    page(client, "lifetimes/")
    with CaptureQueriesContext(connection) as asked:
        client.get("/figures/lifetimes/lifetimes.svg")
    assert not any("equipment_visit" in each["sql"] for each in asked)
    story.day(story.gear(1, "E")[0], 2)
    assert "<td>E</td>" in page(client, "lifetimes/")


def test_questions_do_not_grow_with_pieces(story: Wearing, as_: SignIn) -> None:
    client = as_("frank")

    def asked() -> dict[str, int]:
        kept._kept.clear()
        found = {}
        for name in (*PAGES, "lifetimes-clippers"):
            with CaptureQueriesContext(connection) as captured:
                page(client, f"{name}/")
            found[name] = len(captured)
        return found

    few = asked()
    for tag in story.gear(8, "F", "D7"):
        story.day(tag, 5, SPRING)
    assert asked() == few
    assert max(few.values()) <= 20


def test_words_of_every_advice_fill_in(story: Wearing) -> None:
    beside = around(timezone.now())
    for each in lifetimes.makes(beside):
        assert "%(" not in each.sentence(beside)


def test_what_is_out_is_there_and_what_nothing_left_is_not_bought(story: Wearing, as_: SignIn) -> None:
    (row,) = table(as_("rosa"), "purchases", "purchases")
    assert (row["Out on the busiest day"], row["Usable"], row["To be mended"]) == ("12", "5", "6")
    assert int(row["Buy"]) == 12 + int(row["Leave, at most"]) - 5 > 7
    bags = story.farm.gear("bag", 2, days_ago=28)
    story.day(bags[0], 3)
    write(story.farm, "handed_out", at(1), bags[0], crew="red", picker="ana")
    bag = next(row for row in table(as_("rosa"), "purchases", "purchases") if row["Gear"] == "Picking bag")
    assert (bag["Usable"], bag["Leave, at most"], bag["Buy"]) == ("2", "0", "0")
    assert "Buy " in page(as_("rosa"), "purchases/") and "Buy 0" not in page(as_("rosa"), "purchases/")
