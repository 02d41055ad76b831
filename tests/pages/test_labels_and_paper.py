"""Registering gear, printing labels and cards, crew pages, and entering them from paper."""

import io
from collections.abc import Callable
from datetime import timedelta
from urllib.parse import parse_qs, urlsplit

import pypdf
import pypdfium2
import pytest
import zxingcpp
from django.test import Client
from django.utils import timezone

from crews.models.devices import PAPER_ID
from equipment.actions.make_tags import make_set_tags
from equipment.domain import codes
from equipment.models import Discrepancy, Entry, GearSet, ItemState
from tests.cast import Farm

SignIn = Callable[[str], Client]


@pytest.fixture
def as_(farm: Farm) -> SignIn:
    def sign_in(name: str) -> Client:
        client = Client()
        client.force_login(farm.users[name], backend="crews.signing_in.RoleBackend")
        return client

    return sign_in


def text_of(pdf: bytes) -> str:
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages)


def symbols_of(pdf: bytes) -> set[str]:
    """Every symbol on the pages, read back by zxing-cpp, an independent reader, at 200 dots an inch."""
    pages = pypdfium2.PdfDocument(pdf)
    return {
        found.text for page in pages for found in zxingcpp.read_barcodes(page.render(scale=200 / 72).to_pil())
    }


def test_a_run_is_registered_and_its_labels_read_back(farm: Farm, as_: SignIn) -> None:
    rosa = as_("rosa")
    answer = rosa.post(
        "/gear/register/", {"kind": "clippers", "count": 60, "store": "A", "make": "Tornek", "price": "12.50"}
    )
    assert answer.status_code == 302
    tags = set(ItemState.objects.values_list("tag", flat=True))
    assert len(tags) == 60 and all(codes.parse(tag).prefix == "CL" for tag in tags)
    page = rosa.get(answer["Location"])
    assert "60 labels" in page.content.decode()
    query = {"act": parse_qs(urlsplit(answer["Location"]).query)["act"][0], "print": "1"}
    printed = rosa.get("/labels/", query)
    assert printed["Content-Type"] == "application/pdf"
    assert symbols_of(printed.content) == tags


def test_one_lost_label_is_printed_again_by_its_old_code(farm: Farm, as_: SignIn) -> None:
    (tag,) = farm.gear("ladder")
    printed = as_("mo").get("/labels/", {"tags": tag.lower(), "print": "1", "start": "3", "used": "4, 6-8"})
    assert symbols_of(printed.content) == {tag}


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({}, "Nothing is chosen"),
        ({"tags": "BG9999X"}, "misread"),
        ({"tags": codes.make("BG", 9999)}, "No item has the code"),
        ({"kind": "bag", "start": "99"}, "there is no place 99"),
        ({"kind": "bag", "used": "x"}, "no place. Write 3 or 7-9."),
    ],
)
def test_what_cannot_be_printed_says_why(asked: dict[str, str], said: str, farm: Farm, as_: SignIn) -> None:
    farm.gear("bag")
    answer = as_("rosa").get("/labels/", {"print": "1", **asked})
    assert answer.status_code == 400
    assert said in answer.content.decode()


def test_registering_says_what_is_wrong(farm: Farm, as_: SignIn) -> None:
    (tag,) = farm.gear("bag")
    page = as_("rosa").post("/gear/register/", {"kind": "bag", "count": 2, "store": "A", "tag": tag})
    assert "on another item already" in page.content.decode()
    assert ItemState.objects.count() == 1


def test_badges_crew_tags_and_counter_tags(farm: Farm, as_: SignIn) -> None:
    rosa = as_("rosa")
    assert symbols_of(rosa.get("/cards/badges.pdf").content) == set(farm.badges.values())
    assert symbols_of(rosa.get("/cards/crew-tags.pdf").content) == {crew.pk for crew in farm.crews.values()}
    assert len(symbols_of(rosa.get("/cards/counter-tags.pdf").content)) == 11
    made = rosa.post("/cards/new/set/", {"set-count": 3}, follow=True)
    assert symbols_of(made.content) == set(GearSet.objects.values_list("code", flat=True))
    assert len(symbols_of(rosa.post("/cards/new/day/", {"day-count": 2}, follow=True).content)) == 2


def test_the_crew_page_carries_names_badges_and_usual_gear(farm: Farm, as_: SignIn) -> None:
    farm.plan("red", "N4", days=1)
    (bag,) = farm.gear("bag")
    pen = farm.pen()
    state = ItemState.objects.get(tag=bag)
    red = farm.crews["red"].pk
    pen.record([pen.draft("handed_out", item=state.item_id, crew=red, picker=farm.pickers["ana"].pk)])
    text = text_of(as_("sam").get("/paper/crews.pdf").content)
    for word in ("Ana", "Ben", farm.badges["ana"], bag, "N4"):
        assert word in text
    assert "Cy" not in text


def page_of(farm: Farm, as_: SignIn, **fields: str) -> dict[str, str]:
    shown = as_("rosa").get("/paper/enter/", {"crew": farm.crews["red"].pk})
    form = shown.context["form"]
    yesterday = timezone.localdate() - timedelta(days=1)
    return {
        "crew": farm.crews["red"].pk,
        "act": str(form.initial["act"]),
        "direction": "handed_out",
        "date": yesterday.isoformat(),
        "time": "05:30",
        **fields,
    }


def send(farm: Farm, as_: SignIn, page: dict[str, str]) -> str:
    url = f"/paper/enter/?crew={farm.crews['red'].pk}"
    return as_("rosa").post(url, page, follow=True).content.decode()


def test_a_page_is_entered_backdated_and_marked_and_only_once(farm: Farm, as_: SignIn) -> None:
    two_days_ago = timezone.now() - timedelta(days=2)
    pen = farm.pen()
    bag, clippers = farm.gear("bag") + farm.gear("clippers")
    del pen, two_days_ago
    page = page_of(farm, as_, **{f"picker-{farm.pickers['ana'].pk}": f"{bag} {clippers.lower()}"})
    assert "2 entries recorded from paper" in send(farm, as_, page)
    assert "recorded twice" in send(farm, as_, page)
    entries = Entry.objects.filter(verb="handed_out")
    assert {entry.device_id for entry in entries} == {PAPER_ID}
    assert {timezone.localtime(entry.happened_at).strftime("%H:%M") for entry in entries} == {"05:30"}
    assert entries.count() == 2


def test_a_code_that_names_nothing_stops_the_page_and_loses_no_typing(farm: Farm, as_: SignIn) -> None:
    (bag,) = farm.gear("bag")
    unknown = codes.make("BG", 777)
    page = page_of(farm, as_, **{f"picker-{farm.pickers['ana'].pk}": f"{bag} {unknown}"})
    answer = send(farm, as_, page)
    assert f"{unknown} is no item" in answer and f"{bag} {unknown}" in answer
    assert not Entry.objects.filter(verb="handed_out").exists()


def test_a_set_on_paper_stands_for_its_pieces(farm: Farm, as_: SignIn) -> None:
    (crate,) = make_set_tags(1)
    tags = farm.gear("bag") + farm.gear("clippers")
    pen = farm.pen()
    items = ItemState.objects.filter(tag__in=tags).values_list("item", flat=True)
    pen.record([pen.draft("packed", item=item, detail={"set": crate}) for item in items])
    now = timezone.localtime()
    page = page_of(farm, as_, **{"badge-0": farm.badges["ben"], "blank-0": crate})
    page |= {"date": now.date().isoformat(), "time": now.strftime("%H:%M")}
    assert "2 entries recorded from paper" in send(farm, as_, page)
    assert Entry.objects.filter(verb="handed_out", picker=farm.pickers["ben"]).count() == 2


def test_what_contradicts_is_recorded_and_said(farm: Farm, as_: SignIn) -> None:
    (bag,) = farm.gear("bag")
    pen = farm.pen()
    item = ItemState.objects.get(tag=bag).item_id
    pen.record([pen.draft("handed_out", item=item, crew=farm.crews["red"].pk, picker=farm.pickers["ben"].pk)])
    now = timezone.localtime()
    page = page_of(farm, as_, **{f"picker-{farm.pickers['ana'].pk}": bag})
    page |= {"date": now.date().isoformat(), "time": now.strftime("%H:%M")}
    assert "To settle" in send(farm, as_, page)
    assert Discrepancy.objects.exists()


def test_a_page_from_the_future_is_refused(farm: Farm, as_: SignIn) -> None:
    page = page_of(farm, as_, date=(timezone.localdate() + timedelta(days=1)).isoformat())
    assert "lies in the future" in send(farm, as_, page)
