"""The same stored entries give the same state, in whatever order they arrive and however they are added up."""

from collections.abc import Sequence
from datetime import timedelta
from itertools import pairwise
from typing import Any
from uuid import UUID

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from equipment.domain.fold import Folded, extend, extends, fold, ordered
from equipment.domain.values import BathState, CrewState, Entry, ItemState
from equipment.domain.verbs import STEPS
from tests.stories import MORNING, bath_life, crew_life, item_life, shuffled

SEEDS = st.integers(0, 10_000)
TABLET, PHONE = UUID(int=11), UUID(int=12)


def line(number: int, verb: str, minute: int, **fields: Any) -> Entry:
    fields.setdefault("device", TABLET)
    fields.setdefault("device_seq", number)
    fields.setdefault("store", "A")
    return Entry(UUID(int=number), verb, MORNING + timedelta(minutes=minute), **fields)


def born(minute: int = 0) -> Entry:
    return line(1, "registered", minute, detail={"kind": "bag", "store": "A", "tag": "BG0001"})


def out(number: int, minute: int, picker: int = 1, **fields: Any) -> Entry:
    return line(number, "handed_out", minute, picker=picker, crew="CW0001X", **fields)


def undo(number: int, minute: int, target: int, **fields: Any) -> Entry:
    return line(number, "reversed", minute, detail={"entry": str(UUID(int=target))}, **fields)


def item(*entries: Entry) -> Folded[ItemState]:
    return fold(entries, ItemState(), STEPS)


def added_up(arrived: Sequence[Entry], start: Any) -> Folded[Any]:
    """As the ledger does it: one step where the entry is simply the next one, else everything anew."""
    folded: Folded[Any] = Folded(start)
    for count, entry in enumerate(arrived, start=1):
        anew = fold(arrived[:count], start, STEPS)
        folded = extend(folded, entry, STEPS) if extends(folded, entry) else anew
        assert folded == anew
    return folded


@settings(max_examples=400)
@given(life=item_life(), seed=SEEDS)
def test_an_item_is_the_same_in_any_order_of_arrival(life: list[Entry], seed: int) -> None:
    assert fold(shuffled(life, seed), ItemState(), STEPS) == fold(life, ItemState(), STEPS)


@settings(max_examples=400)
@given(life=crew_life(), seed=SEEDS)
def test_a_crew_is_the_same_in_any_order_of_arrival(life: list[Entry], seed: int) -> None:
    assert fold(shuffled(life, seed), CrewState(), STEPS) == fold(life, CrewState(), STEPS)


@settings(max_examples=200)
@given(life=bath_life(), seed=SEEDS)
def test_a_bath_is_the_same_in_any_order_of_arrival(life: list[Entry], seed: int) -> None:
    assert fold(shuffled(life, seed), BathState(), STEPS) == fold(life, BathState(), STEPS)


# A device that gives one number twice: the lower id comes first, however late it arrives.
TWICE = [line(5, "missed", 1, device_seq=3), line(4, "found", 2, device_seq=3)]


@settings(max_examples=400)
@example(life=TWICE)
@given(life=item_life())
def test_one_step_is_as_good_as_folding_anew(life: list[Entry]) -> None:
    assert added_up(life, ItemState()) == fold(life, ItemState(), STEPS)


@settings(max_examples=200)
@given(life=crew_life())
def test_so_it_is_for_crews(life: list[Entry]) -> None:
    assert added_up(life, CrewState()) == fold(life, CrewState(), STEPS)


@settings(max_examples=150)
@given(life=bath_life())
def test_and_for_baths(life: list[Entry]) -> None:
    assert added_up(life, BathState()) == fold(life, BathState(), STEPS)


@settings(max_examples=200)
@given(life=item_life())
def test_two_never_have_it_at_once(life: list[Entry]) -> None:
    """Whatever the clocks say, the stints come one after the other."""
    stints = fold(life, ItemState(), STEPS).state.stints
    for before, after in pairwise(stints):
        assert before.until is not None
        assert before.at <= before.until <= after.at


@settings(max_examples=200)
@given(life=crew_life())
def test_a_crew_is_never_in_two_blocks_at_once(life: list[Entry]) -> None:
    visits = fold(life, CrewState(), STEPS).state.visits
    for before, after in pairwise(visits):
        assert before.until is not None
        assert before.at <= before.until <= after.at


@settings(max_examples=200)
@given(life=item_life(), which=SEEDS)
def test_what_is_taken_back_is_as_if_it_had_never_been(life: list[Entry], which: int) -> None:
    """While no clock goes back: then the line still bears witness to the time."""
    told = [
        Entry(
            e.id,
            e.verb,
            MORNING + timedelta(minutes=n),
            TABLET,
            n,
            e.store,
            e.detail,
            e.picker,
            e.crew,
            e.block,
            e.bath,
            e.by,
        )
        for n, e in enumerate(life)
        if e.verb != "reversed"
    ]
    if told:
        gone = told[which % len(told)]
        taken_back = line(1, "reversed", 99, device_seq=99, detail={"entry": str(gone.id)})
        assert item(*told, taken_back).state == item(*(e for e in told if e is not gone)).state


def test_a_clock_set_back_at_noon_does_not_put_the_afternoon_before_the_morning() -> None:
    morning, noon = out(2, 10), line(3, "returned", -600)
    assert [e.id for _, e in ordered([noon, morning, born()])] == [born().id, morning.id, noon.id]
    assert item(noon, morning, born()).state.place == "store"


def test_devices_are_put_together_by_time() -> None:
    on_phone = out(2, 5, device=PHONE, device_seq=1)
    back = line(3, "returned", 6, device_seq=2)
    again = out(4, 7, picker=2, device=PHONE, device_seq=2)
    state = item(again, back, on_phone, born()).state
    assert (state.picker, state.discrepancies) == (2, ())


def test_a_late_line_explains_what_looked_like_a_contradiction() -> None:
    early = [born(), out(2, 10, picker=1), out(3, 20, picker=2)]
    assert [d.code for d in item(*early).state.discrepancies] == ["already_out"]
    late = line(4, "returned", 15, device=PHONE)
    assert item(*early, late).state.discrepancies == ()


def test_taking_back_may_come_before_what_it_takes_back() -> None:
    first = item(born(), undo(3, 1, target=2))
    assert [d.code for d in first.state.open] == ["not_reversible"]
    assert first.awaited == {UUID(int=2)}
    then = item(born(), undo(3, 1, target=2), out(2, 0, device=PHONE))
    assert (then.state.place, then.state.open, then.awaited) == ("store", (), frozenset())


@pytest.mark.parametrize("target", [3, 4, 77])
def test_neither_a_taking_back_nor_a_stranger_can_be_taken_back(target: int) -> None:
    """3 is itself a taking-back, 4 the line itself, 77 stands in no line of this item."""
    state = item(born(), out(2, 1), undo(3, 2, target=2), undo(4, 3, target=target)).state
    assert state.place == "store"
    assert [(d.code, d.entry) for d in state.open] == [("not_reversible", UUID(int=4))]


def test_what_a_person_settled_stays_closed_whatever_arrives_later() -> None:
    life = [born(), out(2, 10), out(3, 20, picker=2)]
    (found,) = item(*life).state.open
    settled = line(4, "settled", 5, device=PHONE, detail={"key": found.key, "choice": "the second"})
    late = line(5, "moved", 11, device=PHONE, device_seq=9, detail={"to": "A"})
    state = item(*life, settled).state
    assert (state.open, state.discrepancies) == ((), (found,))
    assert found not in item(*life, settled, late).state.open


def test_to_take_back_the_settling_opens_it_again() -> None:
    life = [born(), out(2, 10), out(3, 20, picker=2)]
    (found,) = item(*life).state.open
    settled = line(4, "settled", 30, detail={"key": found.key, "choice": "the second"})
    assert item(*life, settled, undo(5, 31, target=4)).state.open == (found,)


def test_nothing_at_all_is_an_item_that_is_gone() -> None:
    assert item() == Folded(ItemState())
    assert item().state.place == "gone"
