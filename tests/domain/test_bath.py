"""The dip bath: until when it is good, which dips count in it, what a test of its strength means."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from random import Random
from typing import Any
from uuid import UUID

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from equipment.domain import bath
from equipment.domain.fold import fold
from equipment.domain.values import BathState, Entry, StrengthTest
from equipment.domain.verbs import STEPS
from tests.rulebook import RULES

SIX = datetime(2026, 6, 1, 4, 0, tzinfo=UTC)
DAILY = RULES.recipes["clippers_daily_bleach"]
CANKER = RULES.recipes["canker_chlorine"]
BATH = BathState(
    recipe="clippers_daily_bleach",
    agent="bleach",
    store="A",
    litres=2,
    ppm=5000,
    mixed_at=SIX,
    life_minutes=120,
    capacity=20,
    low_ppm=4000,
    high_ppm=6500,
)


def at(minutes: int) -> datetime:
    return SIX + timedelta(minutes=minutes)


def read_off(*read: tuple[int, float]) -> tuple[StrengthTest, ...]:
    """Minute after mixing, ppm."""
    return tuple(StrengthTest(UUID(int=n), at(minute), ppm) for n, (minute, ppm) in enumerate(read))


GOOD, BAD, STRONG = 5000, 3000, 9000


@pytest.mark.parametrize(
    ("changes", "minute", "nth", "why"),
    [
        ({}, 0, 1, None),
        ({}, 119, 20, None),
        ({}, 120, 1, "too_old"),
        ({"life_minutes": None}, 9999, 1, None),
        ({}, 5, 21, "spent"),
        ({"capacity": None}, 5, 9999, None),
        ({}, -1, 1, "not_mixed"),
        ({"mixed_at": None}, 5, 1, "not_mixed"),
        ({"emptied_at": at(30)}, 29, 1, None),
        ({"emptied_at": at(30)}, 30, 1, "emptied"),
        ({"emptied_at": at(30)}, 200, 1, "emptied"),
        ({"flaws": ("too_weak",)}, 5, 1, "too_weak"),
        ({"flaws": ("product_expired",)}, 5, 1, "product_expired"),
        ({"flaws": ("wrong_ph",)}, 5, 1, "wrong_ph"),
        (
            {"flaws": ("too_weak",), "tests": read_off((3, GOOD))},
            5,
            1,
            None,
        ),  # by its test it is strong enough
        (
            {"flaws": ("too_weak",), "tests": read_off((9, GOOD))},
            5,
            1,
            "too_weak",
        ),  # tested too late for this one
        ({"flaws": ("too_weak",), "tests": read_off((3, BAD))}, 5, 1, "test_failed"),
        # A test of strength says nothing of the pH, nor of a date.
        ({"flaws": ("wrong_ph",), "tests": read_off((3, GOOD))}, 5, 1, "wrong_ph"),
        ({"flaws": ("product_expired",), "tests": read_off((3, GOOD))}, 5, 1, "product_expired"),
        ({"flaws": ("too_weak", "wrong_ph"), "tests": read_off((3, GOOD))}, 5, 1, "wrong_ph"),
        # Where the recipe knows no limits, what was read answers for nothing.
        (
            {"flaws": ("too_weak",), "tests": read_off((3, 1)), "low_ppm": None, "high_ppm": None},
            5,
            1,
            "too_weak",
        ),
        ({"tests": read_off((3, GOOD))}, 120, 1, "too_old"),  # a good test makes it no younger
    ],
)
def test_a_dip_counts_or_not_and_why(changes: dict[str, Any], minute: int, nth: int, why: str | None) -> None:
    assert bath.against_dip(replace(BATH, **changes), at(minute), nth) == why
    assert why is None or bath.WORDS[why]


@pytest.mark.parametrize(
    ("read", "counting"),
    [
        ([], [5, 15, 25, 35, 45]),
        ([(20, GOOD)], [5, 15, 25, 35, 45]),
        ([(20, BAD)], []),  # nobody knows since when it is too weak
        ([(20, STRONG)], []),
        ([(10, GOOD), (30, BAD)], [5]),
        ([(10, GOOD), (30, BAD), (40, GOOD)], [5, 45]),  # strengthened in between, or read badly: by the book
        ([(10, BAD), (30, GOOD)], [35, 45]),
        ([(10, GOOD), (20, GOOD), (30, BAD)], [5, 15]),
        ([(10, GOOD), (20, BAD), (30, BAD), (40, GOOD)], [5, 45]),
        ([(25, BAD)], []),  # at the very minute of a dip
        ([(15, GOOD), (25, BAD)], [5, 15]),
        ([(15, BAD), (25, GOOD)], [35, 45]),
    ],
)
def test_a_failed_test_voids_exactly_the_dips_since_the_last_good_one(
    read: list[tuple[int, float]], counting: list[int]
) -> None:
    """And those after it until the next good one. A test at the minute of a dip speaks of what was before it."""
    state = replace(BATH, tests=read_off(*read))
    dips = [5, 15, 25, 35, 45]
    assert [dip for nth, dip in enumerate(dips, 1) if not bath.against_dip(state, at(dip), nth)] == counting
    void = [bath.against_dip(state, at(dip), nth) for nth, dip in enumerate(dips, 1) if dip not in counting]
    assert set(void) <= {"test_failed"}


def test_a_good_test_that_comes_late_restores_the_dips_before_it() -> None:
    failed = replace(BATH, tests=read_off((40, BAD)))
    late = replace(failed, tests=(*failed.tests, StrengthTest(UUID(int=9), at(20), GOOD)))
    assert [bath.against_dip(failed, at(minute), 1) for minute in (10, 19, 30)] == ["test_failed"] * 3
    assert [bath.against_dip(late, at(minute), 1) for minute in (10, 19, 30)] == [None, None, "test_failed"]


@pytest.mark.parametrize(
    ("ppm", "passes"),
    [(3999.9, False), (4000, True), (6500, True), (6500.1, False), (0, False)],
)
def test_the_limits_themselves_pass(ppm: float, passes: bool) -> None:
    (test,) = read_off((10, ppm))
    assert bath.passes(BATH, test) is passes
    assert bath.passes(replace(BATH, low_ppm=None, high_ppm=None), test)


def test_the_next_item_is_asked_for_like_the_last() -> None:
    assert bath.against_now(BATH, at(5), dipped=19) is None
    assert bath.against_now(BATH, at(5), dipped=20) == "spent"
    assert bath.against_now(replace(BATH, tests=read_off((4, BAD))), at(5), dipped=0) == "test_failed"
    assert bath.against_now(replace(BATH, tests=read_off((3, BAD), (4, GOOD))), at(5), dipped=0) is None


def test_until_when_it_is_good() -> None:
    assert bath.good_until(BATH) == at(120)
    assert bath.good_until(replace(BATH, life_minutes=None)) is None
    assert bath.good_until(BathState()) is None


# --- what is wrong from the start


@pytest.mark.parametrize(
    ("recipe", "ppm", "ph", "expired", "found"),
    [
        (DAILY, 5000, None, False, ()),
        (DAILY, 4750, None, False, ()),  # as near as a bucket is measured
        (DAILY, 4749, None, False, ("too_weak",)),
        (DAILY, 9000, None, False, ()),
        (DAILY, None, None, False, ()),  # strength of the product not known
        (DAILY, 5000, 12, False, ()),  # asks for no pH
        (DAILY, 5000, None, True, ("product_expired",)),
        (DAILY, 50, None, True, ("too_weak", "product_expired")),
        # 200 ppm sodium hypochlorite at pH 6.0 to 7.5: US 7 CFR 301.75-11, as amended at 54 FR 12183, 1989.
        (CANKER, 200, 6.0, False, ()),
        (CANKER, 200, 7.5, False, ()),
        (CANKER, 200, 5.9, False, ("wrong_ph",)),
        (CANKER, 200, 11.5, False, ("wrong_ph",)),  # plain bleach
        (CANKER, 200, None, False, ("wrong_ph",)),  # not measured
    ],
)
def test_a_mixing_that_is_wrong(
    recipe: Any, ppm: float | None, ph: float | None, expired: bool, found: tuple[str, ...]
) -> None:
    assert bath.flaws(recipe, ppm, ph, expired) == found


# --- what was read


@pytest.mark.parametrize(
    ("reading", "diluted", "target", "ppm"),
    [
        (5000, 1, 5000, 5000),
        # Strips read far below 10 000 ppm: a sample is diluted, strength = reading x dilution (from memory).
        (500, 20, 10_500, 10_000),
        (100, 100, 10_500, 10_000),
        (3, 1, None, 3),
        (40, 1, 5000, 40),  # spent, but it is ppm
        (0, 1, 5000, 0),  # the strip did not change at all
        ("5000", "1", 5000, 5000),
    ],
)
def test_the_strength_that_a_reading_means(
    reading: Any, diluted: Any, target: int | None, ppm: float
) -> None:
    assert bath.strength(reading, diluted, target) == pytest.approx(ppm)


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: bath.strength("0,5", 1, 5000), "Reading in ppm: “0,5” is not a number"),  # type: ignore[arg-type]
        (lambda: bath.strength(5000, "1,5", 5000), "How many times .* “1,5” is not a number"),  # type: ignore[arg-type]
        (lambda: bath.strength(-1, 1, 5000), "Reading in ppm: give"),
        (lambda: bath.strength(float("nan"), 1, 5000), "Reading in ppm: .* is not a number"),
        (
            lambda: bath.strength(5000, 0, 5000),
            "How many times the sample was diluted: give a number above zero",
        ),
        # 1 % is 10 000 ppm: definition.
        (lambda: bath.strength(1, 1, 10_500), "is that per cent"),
        (lambda: bath.strength(0.5, 1, 5000), "is that per cent"),
        (lambda: bath.strength(0.05, 10, 5000), "is that per cent"),
        (lambda: bath.strength(0.02, 1, 200), "is that per cent"),
        (lambda: bath.strength(70, 1, 700_000), "is that per cent"),
    ],
)
def test_a_comma_or_per_cent_is_no_reading_in_ppm(call: Callable[[], float], sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        call()


# --- against what a patient person would do: go through the life of the bath, line by line


@dataclass(frozen=True)
class Happened:
    minute: int
    what: str


LIVES = st.lists(
    st.tuples(
        st.sampled_from([0, 0, 1, 10, 25, 60]),
        st.sampled_from(["dip", "dip", "dip", "good", "weak", "strong", "emptied"]),
    ),
    max_size=16,
)


def _lived(plans: list[tuple[int, str]]) -> list[Happened]:
    now, life = 0, []
    for gap, what in plans:
        now += gap
        life.append(Happened(now, what))
    return life


def _counted(life: Sequence[Happened], capacity: int, life_minutes: int) -> list[bool]:
    """Which of the dips count. At one minute the bath is emptied first, then come the dips, then the tests.

    Each dip is believed while the bath is; a failed test takes back the belief in all since the last good one.
    """
    order = sorted(life, key=lambda each: (each.minute, each.what != "emptied", each.what != "dip"))
    counts: list[bool] = []
    believed, in_use, since_good = True, True, []
    for each in order:
        if each.what == "dip":
            counts.append(believed and in_use and each.minute < life_minutes and len(counts) < capacity)
            since_good.append(len(counts) - 1)
        elif each.what == "emptied":
            in_use = False
        elif each.what == "good":
            believed, since_good = True, []
        else:
            believed = False
            for dip in since_good:
                counts[dip] = False
    return counts


READ = {"good": GOOD, "weak": BAD, "strong": STRONG}


@settings(max_examples=250)
@given(
    plans=LIVES,
    capacity=st.sampled_from([2, 5, 99]),
    minutes=st.sampled_from([30, 120, 999]),
    seed=st.integers(0, 99),
)
def test_a_life_gone_through_line_by_line_says_the_same(
    plans: list[tuple[int, str]], capacity: int, minutes: int, seed: int
) -> None:
    """No two tests at one minute here; the lines come in any order."""
    life = _lived(plans)
    tested = [each.minute for each in life if each.what in READ]
    life = [each for each in life if each.what not in READ or tested.count(each.minute) == 1]
    state = _folded(life, capacity, minutes, seed)
    dips = sorted(each.minute for each in life if each.what == "dip")
    found = [bath.against_dip(state, at(minute), nth) is None for nth, minute in enumerate(dips, start=1)]
    assert found == _counted(life, capacity, minutes)


def _folded(life: Sequence[Happened], capacity: int, minutes: int, seed: int) -> BathState:
    mixed = {"recipe": "clippers_daily_bleach", "litres": 2, "product_ml": 200}
    mixed |= {"capacity": capacity, "life_minutes": minutes, "low_ppm": 4000, "high_ppm": 6500}
    lines = [_line(1, 0, "mixed", mixed)]
    for number, each in enumerate(life, start=2):
        if each.what in READ:
            lines.append(_line(number, each.minute, "tested", {"ppm": READ[each.what] / 10, "diluted": 10}))
        elif each.what == "emptied":
            lines.append(_line(number, each.minute, "emptied", {"where": "septic tank"}))
    return fold(Random(seed).sample(lines, len(lines)), BathState(), STEPS).state


def _line(number: int, minute: int, verb: str, detail: dict[str, Any]) -> Entry:
    return Entry(UUID(int=number), verb, at(minute), UUID(int=7), number, "A", detail)
