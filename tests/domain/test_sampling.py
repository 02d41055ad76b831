"""How many to look at, and what may still be there, against published tables and against counting every case."""

from collections.abc import Callable
from fractions import Fraction
from math import comb

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equipment.domain.sampling import faulty_at_most, sample_size

PUBLISHED = [
    # Cannon & Roe 1982, Livestock Disease Surveys (recalculated cell).
    (1600, 16, 0.99, 399),
    # FAO/IPPC ISPM 31, 2008, tables for 95 % at 5, 2 and 1 % (from memory; computed with scipy, equal).
    (100, 5, 0.95, 45),
    (100, 2, 0.95, 78),
    (100, 1, 0.95, 95),
    (200, 10, 0.95, 51),
    (200, 4, 0.95, 105),
    (200, 2, 0.95, 155),
    (1000, 50, 0.95, 57),
    (1000, 20, 0.95, 138),
    (1000, 10, 0.95, 258),
]
SURE_IN_PER_CENT = st.sampled_from([1, 50, 80, 90, 95, 99])


@pytest.mark.parametrize(("lot", "faulty", "confidence", "size"), PUBLISHED)
def test_published_sample_sizes(lot: int, faulty: int, confidence: float, size: int) -> None:
    assert sample_size(lot, faulty, confidence) == size
    # Having looked at so many and found none, so many faulty ones are what cannot be there any more.
    assert faulty_at_most(lot, size, 0, confidence) < faulty
    assert faulty_at_most(lot, size - 1, 0, confidence) >= faulty


def test_the_rule_of_three() -> None:
    # None in n of a very large lot: at most about 3/n at 95 % (Hanley & Lippman-Hand 1983, from memory).
    assert faulty_at_most(1_000_000, 300, 0, 0.95) == pytest.approx(1_000_000 * 3 / 300, rel=0.01)


@pytest.mark.parametrize(
    ("lot", "faulty", "confidence", "size"),
    [
        (10, 10, 0.95, 1),  # the first is faulty
        (1, 1, 0.99, 1),
        (20, 1, 0.95, 19),  # one left of 20 is a risk of 5 % exactly
        (10, 1, 0.9, 9),
        (10, 1, 0.999, 10),
        (10, 9, 0.9999, 2),  # the only sound one may come first, never twice
    ],
)
def test_sample_sizes_at_the_edges(lot: int, faulty: int, confidence: float, size: int) -> None:
    assert sample_size(lot, faulty, confidence) == size


@pytest.mark.parametrize(
    ("lot", "sample", "found", "most"),
    [
        (100, 0, 0, 100),  # nobody looked
        (100, 100, 0, 0),  # everything was looked at
        (100, 100, 7, 7),
        (100, 99, 0, 0),  # one piece left, faulty with a chance of 1 % only
        (100, 1, 1, 100),
        (1, 1, 1, 1),
        (100, 45, 0, 4),  # "none in 45 of 100: fewer than 5"
    ],
)
def test_what_may_still_be_there_at_the_edges(lot: int, sample: int, found: int, most: int) -> None:
    assert faulty_at_most(lot, sample, found, 0.95) == most


def chance_of_at_most(found: int, lot: int, faulty: int, sample: int) -> Fraction:
    """By counting the ways, in whole numbers."""
    ways = sum(comb(faulty, k) * comb(lot - faulty, sample - k) for k in range(min(found, sample) + 1))
    return Fraction(ways, comb(lot, sample))


@given(st.data(), st.integers(1, 40), SURE_IN_PER_CENT)
def test_sample_size_against_counting(data: st.DataObject, lot: int, sure: int) -> None:
    faulty = data.draw(st.integers(1, lot))
    risk = 1 - Fraction(sure, 100)
    fewest = next(n for n in range(lot + 1) if chance_of_at_most(0, lot, faulty, n) <= risk)
    assert sample_size(lot, faulty, sure / 100) == fewest


@given(st.data(), st.integers(1, 40), SURE_IN_PER_CENT)
def test_faulty_at_most_against_counting(data: st.DataObject, lot: int, sure: int) -> None:
    sample = data.draw(st.integers(0, lot))
    found = data.draw(st.integers(0, sample))
    risk = 1 - Fraction(sure, 100)
    possible = range(found, lot - sample + found + 1)
    most = max(n for n in possible if chance_of_at_most(found, lot, n, sample) > risk)
    assert faulty_at_most(lot, sample, found, sure / 100) == most


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: sample_size(0, 1, 0.95), "Pieces in the lot: give a whole number from 1, not 0"),
        (lambda: sample_size(100, 0, 0.95), "must not be missed: give a whole number from 1 to 100, not 0"),
        (
            lambda: sample_size(100, 101, 0.95),
            "must not be missed: give a whole number from 1 to 100, not 101",
        ),
        (lambda: sample_size(100, 0.05, 0.95), "must not be missed: give a whole number .* not 0.05"),  # type: ignore[arg-type]
        (lambda: sample_size(100, 5, 95), "How sure to be: give a fraction between 0 and 1"),
        (lambda: sample_size(100, 5, 1), "How sure to be: give a fraction between 0 and 1"),
        (
            lambda: faulty_at_most(100, 101, 0, 0.95),
            "Pieces looked at: give a whole number from 0 to 100, not 101",
        ),
        (
            lambda: faulty_at_most(100, 45, 46, 0.95),
            "Faulty pieces found: give a whole number from 0 to 45, not 46",
        ),
        (
            lambda: faulty_at_most(100, 45, -1, 0.95),
            "Faulty pieces found: give a whole number from 0 to 45, not -1",
        ),
        (lambda: faulty_at_most(100, 45, 0, float("nan")), "How sure to be: “nan” is not a number"),
    ],
)
def test_numbers_that_cannot_be(call: Callable[[], int], sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        call()
