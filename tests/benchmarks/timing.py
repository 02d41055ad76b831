"""Timing one thing against another in the same run.

Ratios only. A number of seconds says as much about the machine, its neighbours and its mood as about the code; two
things timed in turns, one round after the other, meet the same mood. An absolute limit belongs only where a person
waits, and then it is generous.
"""

import gc
import math
import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Times:
    """Durations in seconds, in the order they were measured; never empty."""

    seconds: tuple[float, ...]

    def __post_init__(self) -> None:
        if not self.seconds:
            raise ValueError("Nothing was timed.")

    @property
    def median(self) -> float:
        return statistics.median(self.seconds)

    @property
    def p95(self) -> float:
        return percentile(self.seconds, 95)

    @property
    def p99(self) -> float:
        return percentile(self.seconds, 99)


def percentile(values: Sequence[float], percent: float) -> float:
    """Nearest-rank percentile: the smallest value that at least `percent` % of the values do not exceed.

    Never an interpolation, so a slow one among few is not smoothed away. 0 < percent <= 100.
    """
    if not values or not 0 < percent <= 100:
        raise ValueError("A percentile needs values, and a percent above 0 and up to 100.")
    return sorted(values)[math.ceil(len(values) * percent / 100) - 1]


def once(thing: Callable[[], object]) -> float:
    """Seconds that one call takes, with the garbage of what came before cleared away."""
    gc.collect()
    started = time.perf_counter()
    thing()
    return time.perf_counter() - started


def alternate(
    first: Callable[[], object], second: Callable[[], object], rounds: int, warm_up: int = 1
) -> tuple[Times, Times]:
    """Time both in turns, `rounds` times each after `warm_up` calls that do not count.

    Who goes first changes each round, so that a drift of the machine, or what one leaves in a cache, favours neither.
    """
    for _ in range(warm_up):
        first()
        second()
    ours: list[float] = []
    theirs: list[float] = []
    for number in range(rounds):
        if number % 2 == 0:
            ours.append(once(first))
            theirs.append(once(second))
        else:
            theirs.append(once(second))
            ours.append(once(first))
    return Times(tuple(ours)), Times(tuple(theirs))
