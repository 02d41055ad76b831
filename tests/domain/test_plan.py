"""Tonight's jobs: tomorrow covered for the fewest minutes, against trying every choice."""

from collections.abc import Callable, Iterator, Sequence
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from equipment.domain.plan import Bath, Gear, Job, cover
from tests.covering import most_served

LEFT, RIGHT, BAG = Gear("clippers", hand="left"), Gear("clippers", hand="right"), Gear("bag", size="M")
BLEACH = Bath("bleach 1 %", 10)
QUAT = Bath("quat 0.2 %", 4)


def dips(gear: Gear, pieces: int, minutes: float, bath: Bath) -> list[Job]:
    return [Job(f"{gear.kind} {gear.hand} {number}", gear, minutes, bath) for number in range(pieces)]


def test_nothing_to_do() -> None:
    for need, fit in [({}, {}), ({BAG: 3}, {BAG: 3}), ({BAG: 3}, {BAG: 9}), ({BAG: 0}, {})]:
        plan = cover(need, fit, [Job("BG0001", BAG, 5)])
        assert (plan.chosen, plan.short, plan.minutes, plan.baths) == ((), {}, 0, ())


def test_the_quickest_jobs_and_no_more_than_are_needed() -> None:
    mends = [Job("BG0001", BAG, 20), Job("BG0002", BAG, 5), Job("BG0003", BAG, 12)]
    plan = cover({BAG: 10}, {BAG: 8}, mends)
    assert [job.item for job in plan.chosen] == ["BG0002", "BG0003"]
    assert (plan.short, plan.minutes) == ({}, 17)


def test_what_stays_short() -> None:
    plan = cover({BAG: 10, LEFT: 2, RIGHT: 1}, {BAG: 8, RIGHT: 1}, [Job("BG0001", BAG, 20)])
    assert [job.item for job in plan.chosen] == ["BG0001"]
    assert plan.short == {BAG: 1, LEFT: 2}


def test_a_left_hand_is_not_served_by_a_right() -> None:
    plan = cover({LEFT: 1}, {RIGHT: 5}, [Job("CL0001", RIGHT, 1)])
    assert (plan.chosen, plan.short) == ((), {LEFT: 1})


@pytest.mark.parametrize(("needed", "mixed", "minutes"), [(3, False, 15), (4, True, 18)])
def test_a_bath_is_mixed_once_and_only_where_it_pays(needed: int, mixed: bool, minutes: float) -> None:
    # Two minutes a dip after ten of mixing, or five minutes a piece by another way.
    jobs = dips(RIGHT, 6, 2, BLEACH) + [Job(f"other {number}", RIGHT, 5) for number in range(6)]
    plan = cover({RIGHT: needed}, {}, jobs)
    assert plan.minutes == minutes
    assert plan.baths == ((BLEACH,) if mixed else ())


def test_two_sorts_share_one_bath() -> None:
    # For either hand alone the small bath is quicker (4 + 4 against 10 + 1); for both together the large one is.
    jobs = [
        *dips(LEFT, 3, 1, BLEACH),
        *dips(RIGHT, 3, 1, BLEACH),
        *[Job(job.item, job.gear, 4, QUAT) for job in dips(LEFT, 3, 1, BLEACH) + dips(RIGHT, 3, 1, BLEACH)],
    ]
    assert cover({LEFT: 1}, {}, jobs).baths == (QUAT,)
    both = cover({LEFT: 3, RIGHT: 3}, {}, jobs)
    assert (both.baths, both.minutes) == ((BLEACH,), 16)


def test_an_item_that_can_be_made_fit_in_two_ways_counts_once() -> None:
    plan = cover({BAG: 2}, {}, [Job("BG0001", BAG, 9), Job("BG0001", BAG, 3)])
    assert ([job.minutes for job in plan.chosen], plan.short, plan.minutes) == ([3], {BAG: 1}, 3)


def test_a_bath_that_stands_ready_costs_nothing() -> None:
    ready = Bath("bleach 1 %, mixed at four", 0)
    plan = cover({RIGHT: 2}, {}, dips(RIGHT, 2, 2, ready))
    assert (plan.baths, plan.minutes) == ((ready,), 4)


def test_gear_is_a_plain_tuple_too() -> None:
    plan = cover({("bag", "M", ""): 1}, {}, [Job("BG0001", BAG, 5)])  # type: ignore[dict-item]
    assert (plan.short, plan.minutes) == ({}, 5)


gears = st.sampled_from([LEFT, RIGHT, BAG])
counts = st.dictionaries(gears, st.integers(0, 4))
minutes = st.integers(0, 12) | st.floats(0, 12)
baths = st.sampled_from([None, BLEACH, QUAT, Bath("bucket", 0)])


@st.composite
def offers(draw: st.DrawFn) -> list[Job]:
    """Up to eight jobs for a few items; some items get two."""
    gear_of = draw(st.dictionaries(st.sampled_from("abcdef"), gears, max_size=6))
    items = draw(st.lists(st.sampled_from(sorted(gear_of)), max_size=8)) if gear_of else []
    return [Job(item, gear_of[item], draw(minutes), draw(baths)) for item in items]


def every_choice(jobs: Sequence[Job]) -> Iterator[tuple[Job, ...]]:
    for size in range(len(jobs) + 1):
        for choice in combinations(jobs, size):
            if len({job.item for job in choice}) == size:
                yield choice


def score(choice: Sequence[Job], need: dict[Gear, int], fit: dict[Gear, int]) -> tuple[int, float]:
    """(pieces short, minutes) from the definition."""
    made = {gear: sum(job.gear == gear for job in choice) for gear in need}
    short = sum(max(0, asked - fit.get(gear, 0) - made[gear]) for gear, asked in need.items())
    mixing = sum(bath.minutes for bath in {job.bath for job in choice} if bath)
    return short, sum(job.minutes for job in choice) + mixing


@settings(max_examples=80)
@given(counts, counts, offers())
def test_against_trying_every_choice(need: dict[Gear, int], fit: dict[Gear, int], jobs: list[Job]) -> None:
    plan = cover(need, fit, jobs)
    short, fewest = min(score(choice, need, fit) for choice in every_choice(jobs))
    assert sum(plan.short.values()) == short
    assert plan.minutes == pytest.approx(fewest, abs=1e-6)
    # And the plan is what it says.
    assert score(plan.chosen, need, fit) == pytest.approx((short, plan.minutes))
    assert len({job.item for job in plan.chosen}) == len(plan.chosen)
    assert all(pieces > 0 for pieces in plan.short.values())


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: Job("BG0001", BAG, -1), "Minutes: give zero or more, not -1"),
        (lambda: Job("BG0001", BAG, float("nan")), "Minutes: “nan” is not a number"),
        (lambda: Bath("bleach", -1), "Minutes: give zero or more, not -1"),
        (lambda: cover({BAG: -1}, {}, []), "Pieces needed: give a whole number from 0, not -1"),
        (lambda: cover({BAG: 1}, {BAG: -1}, []), "Pieces fit now: give a whole number from 0, not -1"),
        (
            lambda: cover({BAG: 1}, {}, [Job("BG0001", BAG, 1), Job("BG0001", LEFT, 1)]),
            "BG0001 stands in jobs for two sorts of gear",
        ),
    ],
)
def test_what_cannot_be_planned(call: Callable[[], object], sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        call()


def test_a_size_that_is_not_known_takes_what_others_leave() -> None:
    small, large, any_size = Gear("gloves", "S"), Gear("gloves", "L"), Gear("gloves")
    jobs = [Job("GL0001", small, 1), Job("GL0002", large, 5)]
    plan = cover({small: 2, any_size: 1}, {small: 1, large: 1}, jobs)
    assert ([job.item for job in plan.chosen], plan.short) == (["GL0001"], {})
    plan = cover({small: 2, large: 1, any_size: 1}, {any_size: 1}, jobs)
    assert (plan.minutes, sum(plan.short.values())) == (6, 1)


def test_many_alike_are_planned_in_one_go() -> None:
    ways = [
        Job(f"CL{n:04}", RIGHT, minutes, bath)
        for n in range(900)
        for minutes, bath in ((1, BLEACH), (2, QUAT))
    ]
    plan = cover({RIGHT: 800}, {RIGHT: 50}, ways)
    assert (len(plan.chosen), plan.minutes, plan.baths) == (750, 760, (BLEACH,))


@st.composite
def sorts(draw: st.DrawFn) -> tuple[dict[Gear, int], dict[Gear, int], list[Job]]:
    """Gloves of three sizes, one of them not known, asked for, fit, and to be made fit."""
    sizes = [Gear("gloves", size) for size in ("", "S", "L")]
    some = st.dictionaries(st.sampled_from(sizes), st.integers(0, 3))
    gear_of = draw(st.dictionaries(st.sampled_from("abcde"), st.sampled_from(sizes), max_size=5))
    return (
        draw(some),
        draw(some),
        [Job(item, gear, draw(minutes), draw(baths)) for item, gear in gear_of.items()],
    )


@settings(max_examples=80)
@given(sorts())
def test_unknown_sizes_against_trying_every_choice(
    case: tuple[dict[Gear, int], dict[Gear, int], list[Job]],
) -> None:
    need, fit, jobs = case
    there = [gear for gear, pieces in fit.items() for _ in range(pieces)]
    plan = cover(need, fit, jobs)

    def judged(choice: Sequence[Job]) -> tuple[int, float]:
        mixing = sum(bath.minutes for bath in {job.bath for job in choice} if bath)
        served = most_served(need, there + [job.gear for job in choice])
        return -served, sum(job.minutes for job in choice) + mixing

    served, fewest = min(map(judged, every_choice(jobs)))
    assert sum(need.values()) - sum(plan.short.values()) == -served
    assert plan.minutes == pytest.approx(fewest, abs=1e-6)
    assert judged(plan.chosen) == pytest.approx((served, plan.minutes))
