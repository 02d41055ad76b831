"""A dip that cleared a disease flag stays known as long as the flag, so that a bath that fails brings the flag back."""

from datetime import timedelta
from uuid import UUID

from equipment.domain.condition import Around, condition
from equipment.domain.fold import fold
from equipment.domain.values import Entry, ItemState
from equipment.domain.verbs import STEPS
from tests.days import COUNTER, MONDAY
from tests.rulebook import RULES

KILLING = UUID(int=3)


def dipped(number: int, **detail: object) -> Entry:
    at = MONDAY + timedelta(hours=number)
    words = {"method": "sterilise", "seconds": 600, **detail}
    return Entry(UUID(int=number), "cleaned", at, COUNTER, number, "A", words, bath=UUID(int=99))


def clippers(others: int) -> ItemState:
    """Flagged, dipped in what kills it, then dipped so many times in what does not."""
    born = Entry(UUID(int=1), "registered", MONDAY, COUNTER, 1, "A", {"kind": "clippers", "store": "A"})
    flagged = Entry(UUID(int=2), "flagged", MONDAY, COUNTER, 2, "A", {"disease": "exocortis"})
    dips = [dipped(KILLING.int, kills=["exocortis"]), *(dipped(4 + number) for number in range(others))]
    return fold([born, flagged, *dips], ItemState(), STEPS).state


def test_however_many_dips_follow_the_one_that_cleared_the_flag_is_kept() -> None:
    kept = [cleaning.entry for cleaning in clippers(6).cleanings]
    assert kept == [KILLING, *(UUID(int=number) for number in (6, 7, 8, 9))]


def test_others_are_forgotten_as_before() -> None:
    born = Entry(UUID(int=1), "registered", MONDAY, COUNTER, 1, "A", {"kind": "clippers", "store": "A"})
    state = fold([born, *(dipped(number) for number in range(2, 9))], ItemState(), STEPS).state
    assert [cleaning.entry.int for cleaning in state.cleanings] == [5, 6, 7, 8]


def test_when_its_bath_fails_the_flag_stands_again() -> None:
    state = clippers(6)
    assert condition(state, RULES, Around()).flags == ()
    assert condition(state, RULES, Around(void={KILLING: "test_failed"})).flags == ("exocortis",)
