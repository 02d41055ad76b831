"""A number that cannot be is named, and the sentence says what to give instead; the edges can translate it."""

import math
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction

import pytest

from equipment.domain.given import BadNumber, above_zero, count, fraction, per_cent, zero_or_more

WRONG = [
    (lambda: above_zero("Volume", 0), "Volume: give a number above zero, not 0."),
    (lambda: above_zero("Volume", -2.5), "Volume: give a number above zero, not -2.5."),
    (lambda: above_zero("Volume", math.nan), "Volume: “nan” is not a number."),
    (lambda: above_zero("Volume", math.inf), "Volume: “inf” is not a number."),
    (lambda: above_zero("Volume", "ten"), "Volume: “ten” is not a number."),
    (lambda: above_zero("Volume", None), "Volume: “None” is not a number."),
    (lambda: zero_or_more("Hours", -1), "Hours: give zero or more, not -1."),
    (
        lambda: per_cent("Strength", 200),
        "Strength: nothing is stronger than 100 %; 200 is. Is that figure in ppm?",
    ),
    (lambda: fraction("Level", 95), "Level: give a fraction between 0 and 1, such as 0.95, not 95."),
    (lambda: fraction("Level", 1), "Level: give a fraction between 0 and 1, such as 0.95, not 1."),
    (lambda: count("Lot", 0.05, 1, 100), "Lot: give a whole number from 1 to 100, not 0.05."),
    (lambda: count("Lot", 101, 1, 100), "Lot: give a whole number from 1 to 100, not 101."),
    (lambda: count("Lot", -1), "Lot: give a whole number from 0, not -1."),
]


@pytest.mark.parametrize(("call", "sentence"), WRONG)
def test_says_which_number_and_what_to_give(call: Callable[[], object], sentence: str) -> None:
    with pytest.raises(BadNumber) as caught:
        call()
    assert isinstance(caught.value, ValueError)
    assert str(caught.value) == sentence
    # What the edges do: translate the template and the number's name, then fill it in.
    assert caught.value.message % caught.value.params == sentence
    assert "what" in caught.value.params


def test_takes_numbers_of_any_make() -> None:
    assert above_zero("Volume", Decimal("2.5")) == 2.5
    assert fraction("Level", Fraction(1, 2)) == 0.5
    assert per_cent("Strength", 100) == 100
    assert zero_or_more("Hours", 0) == 0
    assert count("Lot", 5.0) == 5 and isinstance(count("Lot", 5.0), int)
