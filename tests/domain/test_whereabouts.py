"""Who had a piece, which blocks that took it to, and the cleanings that count: a life as its entries tell it."""

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

from hypothesis import given
from hypothesis import strategies as st

from equipment.domain.fold import fold
from equipment.domain.values import Entry, ItemState, Visit
from equipment.domain.verbs import STEPS
from equipment.domain.whereabouts import Holding, Stay, counting, holdings, killings, stays

START = datetime(2026, 6, 3, 4, tzinfo=UTC)
ANA, BEN = 1, 2
DEVICE = UUID(int=9)


def hour(number: float) -> datetime:
    return START + timedelta(hours=number)


class Life:
    """Entries of one piece, one after the other."""

    def __init__(self) -> None:
        self.entries: list[Entry] = []

    def tell(self, at: float, verb: str, **fields: Any) -> UUID:
        own = UUID(int=len(self.entries) + 1)
        crew = {"crew": "red"} if verb == "handed_out" else {}
        entry = Entry(own, verb, hour(at), DEVICE, len(self.entries), "A", **(crew | fields))
        self.entries.append(entry)
        return own

    def held(self) -> list[Holding]:
        return holdings(counting(self.entries))


def test_handed_out_passed_on_and_returned() -> None:
    life = Life()
    life.tell(1, "handed_out", picker=ANA)
    life.tell(3, "handed_out", picker=BEN, crew="blue", detail={"from": "picker:1"})
    life.tell(5, "returned")
    life.tell(6, "handed_out")
    assert life.held() == [
        Holding(hour(1), hour(3), "red", ANA),
        Holding(hour(3), hour(5), "blue", BEN),
        Holding(hour(6), None, "red"),
    ]


def test_a_handout_and_a_return_that_were_taken_back() -> None:
    life = Life()
    life.tell(1, "handed_out", picker=ANA)
    wrong = life.tell(2, "returned")
    life.tell(2.1, "reversed", detail={"entry": str(wrong)})
    second = life.tell(4, "handed_out", picker=BEN)
    life.tell(4.1, "reversed", detail={"entry": str(second)})
    assert life.held() == [Holding(hour(1), None, "red", ANA)]


def test_lost_and_found_with_a_crew_and_a_night_in_the_orchard() -> None:
    life = Life()
    life.tell(1, "handed_out", picker=ANA)
    life.tell(2, "missed")
    life.tell(3, "found", crew="blue")
    life.tell(4, "found")  # was not missing: changes nothing
    life.tell(5, "stowed", crew="blue", block="N4", detail={"block": "N4", "counted": 2})
    life.tell(20, "returned")
    assert life.held() == [
        Holding(hour(1), hour(2), "red", ANA),
        Holding(hour(3), hour(5), "blue"),
        Holding(hour(5), hour(20), "blue", block="N4"),
    ]
    (night,) = stays(life.held()[2:], {}, {})
    assert night == Stay("N4", hour(5), hour(20), "blue", stowed=True)


verbs = st.sampled_from(["handed_out", "returned", "missed", "found", "moved"])


@given(st.lists(st.tuples(verbs, st.sampled_from([ANA, BEN]), st.booleans()), max_size=12))
def test_pickers_have_it_when_the_items_own_fold_says_so(told: list[tuple[str, int, bool]]) -> None:
    life = Life()
    life.tell(0, "registered", detail={"kind": "clippers", "store": "A", "tag": "CL0001X"})
    for at, (verb, picker, undone) in enumerate(told, start=1):
        who = {"picker": picker} if verb == "handed_out" else {}
        detail = {"detail": {"to": "B"}} if verb == "moved" else {}
        own = life.tell(at, verb, **who, **detail)
        if undone:
            life.tell(at + 0.5, "reversed", detail={"entry": str(own)})
    state = fold(life.entries, ItemState(), STEPS).state
    mine = [(h.picker, h.crew, h.at, h.until) for h in life.held() if h.picker is not None]
    assert mine == [(s.picker, s.crew, s.at, s.until) for s in state.stints]


# Which blocks


def visit(block: str, at: float, until: float | None) -> Visit:
    return Visit(UUID(int=int(at * 100)), block, hour(at), None if until is None else hour(until))


def test_in_the_blocks_of_the_crews_visits_while_somebody_has_it() -> None:
    visits = {"red": [visit("N4", 2, 5), visit("S2", 6, 8), visit("N4", 30, 34)]}
    held = [Holding(hour(3), hour(7), "red", ANA), Holding(hour(33), None, "red")]
    assert list(stays(held, visits, {})) == [
        Stay("N4", hour(3), hour(5), "red"),
        Stay("S2", hour(6), hour(7), "red"),
        Stay("N4", hour(33), hour(34), "red"),
    ]


def test_a_visit_that_nobody_ended_lasts_a_days_work_at_most() -> None:
    visits = {"red": [visit("N4", 2, None)]}
    assert list(stays([Holding(hour(1), None, "red", ANA)], visits, {})) == [
        Stay("N4", hour(2), hour(14), "red")
    ]
    assert list(stays([Holding(hour(1), hour(9), "red", ANA)], visits, {})) == [
        Stay("N4", hour(2), hour(9), "red")
    ]


def test_a_picker_lent_at_noon_takes_the_gear_along() -> None:
    visits = {"red": [visit("N4", 2, 12)], "blue": [visit("S2", 1, 12)]}
    moves = {ANA: [(hour(0), "red"), (hour(6), "blue"), (hour(9), None)]}
    assert list(stays([Holding(hour(3), hour(11), "red", ANA)], visits, moves)) == [
        Stay("N4", hour(3), hour(6), "red"),
        Stay("S2", hour(6), hour(9), "blue"),
    ]
    # What the crew itself has stays with it, whoever comes and goes.
    assert list(stays([Holding(hour(3), hour(11), "red")], visits, moves)) == [
        Stay("N4", hour(3), hour(11), "red")
    ]


# Cleanings


def test_only_a_cleaning_that_kills_it_and_counts() -> None:
    dip = {"method": "sterilise", "seconds": 700, "needs_seconds": 600}
    life = Life()
    life.tell(1, "cleaned", detail={**dip, "kills": ["citrus_canker"]})
    life.tell(2, "cleaned", detail={**dip, "kills": ["citrus_canker", "exocortis"]})
    life.tell(3, "cleaned", detail={**dip, "seconds": 10, "kills": ["exocortis"]})
    life.tell(4, "fault_found", detail={"fault": "dirty"})
    life.tell(5, "cleaned", detail={**dip, "kills": ["exocortis"]})
    life.tell(6, "cleaned", detail={"method": "wash", "kills": ["brown_rot"]})
    void = life.tell(7, "cleaned", detail={**dip, "kills": ["exocortis"]})
    life.tell(8, "inspected", detail={"checklist": "clippers_daily", "failed": {"clean": "dirty"}})
    life.tell(9, "cleaned", detail={**dip, "kills": ["exocortis"]})
    assert killings(counting(life.entries), "exocortis") == [hour(2), hour(7)]
    assert killings(counting(life.entries), "exocortis", {void}) == [hour(2)]
    assert killings(counting(life.entries), "brown_rot") == [hour(6)]
    assert killings(counting(life.entries), "citrus_canker") == [hour(1), hour(2)]
