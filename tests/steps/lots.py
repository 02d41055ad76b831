"""What the verbs of a lot of counted goods do to its state."""

from dataclasses import replace
from datetime import date

from equipment.domain.values import LotState
from tests.steps import BEFORE, NOW, SAME, of

NONE = LotState()
THERE = LotState(
    goods="plasters",
    store="A",
    received_at=BEFORE,
    lot_number="P-7",
    expires_on=date(2027, 1, 31),
    left=40.0,
)
CAME = {"goods": "plasters", "quantity": 40, "lot_number": "P-7", "expires_on": "2027-01-31"}
ARRIVED = {"goods": "plasters", "store": "A", "received_at": NOW, "left": 40.0}

CASES = [
    of("received", NONE, {**ARRIVED, "lot_number": "P-7", "expires_on": date(2027, 1, 31)}, detail=CAME),
    of("received", NONE, {**ARRIVED, "left": 2.5}, detail={"goods": "plasters", "quantity": "2.5"}),
    # Counted before it was written down that it came: a clock was wrong.
    of(
        "received",
        replace(NONE, left=3.0),
        {**ARRIVED, "left": 43.0},
        detail={"goods": "plasters", "quantity": 40, "expires_on": None},
    ),
    of("received", THERE, SAME, "received_twice", detail=CAME),
    of("given", THERE, {"left": 30.0}, crew="RED", detail={"quantity": 10}),
    of("given", THERE, {"left": 0.0}, crew="RED", detail={"quantity": 40}),
    of("given", THERE, {"left": 0.0}, "more_than_left", crew="RED", detail={"quantity": 40.5}),
    of("used", THERE, {"left": 39.75}, detail={"quantity": "0.25", "purpose": "mend"}),
    of("used", NONE, SAME, "more_than_left", detail={"quantity": 1}),
    # What binary fractions would leave behind is not there: 0.3 less 0.1 is 0.2, and less 0.2 nothing.
    of("used", replace(THERE, left=0.3), {"left": 0.2}, detail={"quantity": 0.1}),
    of("discarded", THERE, {"left": 39.0}, detail={"quantity": 1}),
    of("discarded", THERE, {"left": 0.0}, "more_than_left", detail={"quantity": 41}),
    of("counted", THERE, {"left": 38.0, "counted_at": NOW, "differed": -2.0}, detail={"left": 38}),
    of("counted", THERE, {"left": 0.0, "counted_at": NOW, "differed": -40.0}, detail={"left": 0}),
    of(
        "counted",
        replace(THERE, left=0.3),
        {"left": 0.1, "counted_at": NOW, "differed": -0.2},
        detail={"left": 0.1},
    ),
    of("counted", NONE, {"left": 4.0, "counted_at": NOW, "differed": 4.0}, detail={"left": 4}),
]
