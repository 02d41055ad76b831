"""A lot of counted goods through its days: what is left of it, whatever order its lines arrive in.

The sums are checked against Python's own `decimal`, which knows no binary fractions.
"""

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from itertools import permutations
from typing import Any
from uuid import UUID

from hypothesis import given
from hypothesis import strategies as st

from equipment.domain.fold import fold
from equipment.domain.values import Entry, LotState
from equipment.domain.verbs import STEPS
from tests.stories import lot_life, shuffled

MORNING = datetime(2026, 6, 1, 4, 0, tzinfo=UTC)
LOT = UUID(int=5)
PHONE, COUNTER = UUID(int=77), UUID(int=78)


def told(*lines: tuple[str, dict[str, Any]]) -> list[Entry]:
    """A line a minute, all on one phone."""
    return [
        Entry(
            UUID(int=100 + number),
            verb,
            MORNING + timedelta(minutes=number),
            PHONE,
            number,
            "A",
            detail,
            lot=LOT,
        )
        for number, (verb, detail) in enumerate(lines)
    ]


def folded(lines: Sequence[Entry]) -> LotState:
    return fold(lines, LotState(), STEPS).state


CAME = (
    "received",
    {"goods": "thread", "quantity": "0.3", "lot_number": "T-1", "expires_on": "2027-01-31"},
)


def test_the_days_of_a_lot() -> None:
    state = folded(
        told(
            CAME,
            ("used", {"quantity": "0.1", "purpose": "mend"}),
            ("used", {"quantity": "0.2"}),
            ("counted", {"left": "0.05"}),
            ("discarded", {"quantity": "0.05"}),
        )
    )
    assert (state.goods, state.lot_number, state.expires_on) == ("thread", "T-1", date(2027, 1, 31))
    assert (state.left, state.differed) == (0.0, 0.05)
    assert not state.discrepancies
    assert state.counted_at == MORNING + timedelta(minutes=3)


def test_more_than_was_left_waits_for_a_person_and_a_late_count_explains_it() -> None:
    used = told(CAME, ("used", {"quantity": 1}))
    assert [found.code for found in folded(used).open] == ["more_than_left"]
    counted = Entry(UUID(int=50), "counted", MORNING + timedelta(seconds=30), COUNTER, 0, "A", {"left": 2})
    state = folded([*used, counted])
    assert (state.left, state.open) == (1.0, ())


def test_a_struck_use_is_there_again() -> None:
    lines = told(CAME, ("used", {"quantity": "0.1"}))
    back = told(CAME, ("used", {"quantity": "0.1"}), ("reversed", {"entry": str(lines[1].id)}))
    assert folded(back).left == 0.3


def test_a_lot_in_every_order_of_arrival() -> None:
    lines = told(
        CAME,
        ("given", {"quantity": "0.1"}),
        ("counted", {"left": "0.15"}),
        ("used", {"quantity": "0.2"}),
        ("reversed", {"entry": str(UUID(int=101))}),
    )
    states = {folded(order) for order in permutations(lines)}
    assert len(states) == 1
    assert [found.code for found in states.pop().open] == ["more_than_left"]


@given(life=lot_life(10), seed=st.integers(0, 999))
def test_made_up_lives_in_any_order(life: list[Entry], seed: int) -> None:
    assert fold(life, LotState(), STEPS) == fold(shuffled(life, seed), LotState(), STEPS)


PORTIONS = st.lists(st.integers(1, 5_000_000), max_size=40)


@given(portions=PORTIONS)
def test_what_is_left_is_what_decimals_say(portions: list[int]) -> None:
    """Of millionths of a unit, taken one after the other."""
    quantities = [Decimal(portion) / 1_000_000 for portion in portions]
    whole = sum(quantities, Decimal(1))
    came = ("received", {"goods": "oil", "quantity": str(whole)})
    state = folded(told(came, *(("used", {"quantity": str(quantity)}) for quantity in quantities)))
    assert Decimal(str(state.left)) == 1
    assert not state.discrepancies
