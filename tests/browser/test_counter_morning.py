"""A morning and its evening: 40 pickers, 4 items each, scanner only, with all that goes wrong in between."""

from collections import defaultdict
from collections.abc import Callable
from dataclasses import replace

import pytest
from django.utils import timezone

from crews.models import DayPlan, Picker
from equipment.actions.change_crew import join
from equipment.actions.lend_badge import lend_new
from equipment.domain import codes, values
from equipment.domain.fold import fold
from equipment.domain.verbs import STEPS
from equipment.models import Entry, ItemState, projections
from tests.cast import Farm
from tests.counter import Counter, where

pytestmark = pytest.mark.django_db(transaction=True)

PICKERS = 40
KINDS = ("bag", "clippers", "gloves", "goggles")
BY_SET = range(0, PICKERS, 4)  # every fourth picker's gear was packed the evening before


@pytest.fixture
def crew(farm: Farm) -> list[tuple[str, list[str]]]:
    """(badge, tags) of 40 pickers who clip lemons today, their gear lying ready."""
    DayPlan.objects.create(date=timezone.localdate(), crew=farm.crews["red"], block_id="N4")
    people = [Picker.objects.create(number=str(100 + n), name=f"Picker {n:02}") for n in range(PICKERS)]
    cards = [card.pk for card in lend_new(people, timezone.localdate())]
    join(farm.pen(), people, farm.crews["red"])
    gear = zip(*(farm.gear(kind, PICKERS) for kind in KINDS), strict=True)
    return list(zip(cards, map(list, gear), strict=True))


@pytest.fixture
def sets(farm: Farm, crew: list[tuple[str, list[str]]]) -> dict[int, str]:
    items = dict(ItemState.objects.values_list("tag", "item_id"))
    pen, packed = farm.pen(), {place: codes.make(codes.SET, place + 1) for place in BY_SET}
    pen.record(
        [
            pen.draft("packed", item=items[tag], detail={"set": code})
            for place, code in packed.items()
            for tag in crew[place][1]
        ]
    )
    return packed


def differing() -> list[str]:
    """Items whose stored state, or a column of it, is not what the domain alone makes of their entries."""
    entries = defaultdict(list)
    for entry in Entry.objects.exclude(item=None):
        entries[entry.item_id].append(projections.value_of(entry))
    wrong = []
    for row in ItemState.objects.all():
        anew = fold(entries[row.item_id], values.ItemState(), STEPS).state
        columns = replace(anew, place=row.place, picker=row.picker_id, crew=row.crew_id, store=row.store_id)
        if not projections.folded_item(row).state == anew == columns or anew.wet != row.wet:
            wrong.append(row.tag)
    return wrong


@pytest.mark.every_database
def test_a_morning_and_its_evening(
    farm: Farm,
    at_counter: Counter,
    crew: list[tuple[str, list[str]]],
    sets: dict[int, str],
    expect_problem: Callable[[str], None],
) -> None:
    expect_problem("ERR_INTERNET_DISCONNECTED")
    page = at_counter.page
    page.reload()
    at_counter.ready()
    for place, (badge, tags) in enumerate(crew):
        at_counter.scan(badge)
        for scanned in [sets[place]] if place in sets else tags:
            at_counter.scan(scanned)
        trouble = TROUBLES.get(place)
        if trouble:
            trouble(farm, at_counter, crew)
    at_counter.scan_all("finish")
    out = {tag for _, tags in crew for tag in tags} - {crew[LEFT_BEHIND][1][1]}
    at_counter.line("Every scan is in the book.")
    assert set(ItemState.objects.out().values_list("tag", flat=True)) == out
    assert {where(tag)[1] for tag in crew[MOVED_TO][1]} == {"Picker 11"}
    assert differing() == []

    at_counter.scan_all("take_back")
    for tags in zip(*(tags for _, tags in reversed(crew)), strict=True):  # all goggles, then ...: any order
        for tag in tags:
            if tag in out:
                at_counter.scan(tag)
    at_counter.settle()
    at_counter.says("yes", "everything is back.")
    assert not ItemState.objects.out().exists()
    assert differing() == []
    assert [entry.verb for entry in Entry.objects.filter(verb="reversed")] == ["reversed"]
    positions = Entry.objects.filter(store="A").order_by("position").values_list("position", flat=True)
    assert list(positions) == list(range(1, len(positions) + 1))


# What goes wrong after which picker was served.
LEFT_BEHIND, MOVED_TO = 7, 11


def wrong_tag(farm: Farm, at_counter: Counter, crew: list[tuple[str, list[str]]]) -> None:
    at_counter.scan_all("BG0001X")
    at_counter.says("no", "Misread")


def undo_and_leave_incomplete(farm: Farm, at_counter: Counter, crew: list[tuple[str, list[str]]]) -> None:
    """The last two scans are undone and one of them is not: the picker goes without clippers."""
    clippers, gloves, goggles = crew[LEFT_BEHIND][1][1:]
    at_counter.settle()
    assert where(goggles)[0] == "picker"
    at_counter.scan_all("undo")
    at_counter.scan_all(goggles)
    entry = Entry.objects.get(verb="handed_out", item__state__tag=clippers)
    assert entry.picker.name == "Picker 07" and where(gloves)[0] == "picker"
    at_counter.page.wait_for_timeout(2100)
    at_counter.scan_all("take_back", clippers, "hand_out", crew[LEFT_BEHIND][0], crew[LEFT_BEHIND + 2][0])
    at_counter.says("partial", "Picker 07 is not complete", "Clippers")


def already_out(farm: Farm, at_counter: Counter, crew: list[tuple[str, list[str]]]) -> None:
    """Someone carries another's bag: named, then moved by the tag, and moved back."""
    bag = crew[MOVED_TO - 2][1][0]
    at_counter.scan_all(bag)
    at_counter.says("no", "Out to Picker 09")
    at_counter.scan_all("change_of_hands")
    assert where(bag)[1] == "Picker 11"
    at_counter.scan_all(crew[MOVED_TO - 2][0], bag, "change_of_hands")
    assert where(bag)[1] == "Picker 09"


def cut(farm: Farm, at_counter: Counter, crew: list[tuple[str, list[str]]]) -> None:
    at_counter.settle()
    at_counter.page.context.set_offline(True)


def mended(farm: Farm, at_counter: Counter, crew: list[tuple[str, list[str]]]) -> None:
    at_counter.settle()
    at_counter.says("note", "Written down, not checked")
    at_counter.page.context.set_offline(False)
    at_counter.line("Every scan is in the book.")


TROUBLES = {3: wrong_tag, 7: undo_and_leave_incomplete, 11: already_out, 20: cut, 24: mended}
