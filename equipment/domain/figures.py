"""Rates with their exact limits, spares for a day ahead with the chance of running short, and what to buy.

Swaps, faults and losses are counts over hours in use of all pieces together. A rate that few data stand behind borrows
from its kind: the rest of the kind counts like one swap more, in as many hours as the kind takes for one (gamma prior,
see `equipment.domain.spares`).
"""

import math
from dataclasses import dataclass

from equipment.domain.given import count, fraction, zero_or_more
from equipment.domain.lifetimes import mtbf_bounds
from equipment.domain.spares import EXPOSURE, FAILURES, LEVEL, PLANNED, spares_to_carry

LIMITS = 0.95
"""How sure the limits of a rate are."""
SURE = 0.05
"""How seldom chance alone may bring about what is told as a difference."""
# What the rest of the kind counts for: as much as so many swaps seen.
PRIOR_WEIGHT = 1.0
# Where a kind never broke: half a swap (Jeffreys' prior for a Poisson rate; from memory).
HALF_A_SWAP = 0.5
PER_HOURS = 1000


@dataclass(frozen=True, slots=True)
class Rate:
    """`seen` in `hours` in use; by 1,000 hours with the two-sided exact limits, None where there are no hours."""

    seen: int
    hours: float

    @property
    def per_1000(self) -> float | None:
        return PER_HOURS * self.seen / self.hours if self.hours else None

    @property
    def limits(self) -> tuple[float, float] | None:
        if not self.hours:
            return None
        low, high = mtbf_bounds(self.seen, self.hours, LIMITS)
        return PER_HOURS / high, PER_HOURS / low

    @property
    def between(self) -> tuple[float, float] | None:
        """The mean hours from one to the next, its exact limits; the upper one is infinite where none was seen."""
        return mtbf_bounds(self.seen, self.hours, LIMITS) if self.hours else None


@dataclass(frozen=True, slots=True)
class Prior:
    """Like so many swaps in so many hours."""

    swaps: float
    hours: float


def prior(rest: Rate) -> Prior:
    """What the rest of the kind says of a sort, whatever the sort itself has shown."""
    swaps = rest.seen + HALF_A_SWAP
    return Prior(PRIOR_WEIGHT, PRIOR_WEIGHT * rest.hours / swaps) if rest.hours else Prior(HALF_A_SWAP, 0.0)


@dataclass(frozen=True, slots=True)
class Carry:
    """For `planned` hours in use: the mean number of swaps, the fewest spares that last with the level asked, and the
    chance that they do not."""

    planned: float
    expected: float
    spares: int
    short: float


def carry(own: Rate, before: Prior, planned: float, level: float) -> Carry:
    """Raises ValueError for numbers that cannot be, and where there are no hours to go by at all."""
    spares = spares_to_carry(own.seen, own.hours, planned, level, before.swaps, before.hours)
    expected = planned * (own.seen + before.swaps) / (own.hours + before.hours)
    return Carry(planned, expected, spares, chance_of_short(own, before, planned, spares))


def chance_of_short(own: Rate, before: Prior, planned: float, spares: int) -> float:
    """The chance of more than `spares` swaps in `planned` hours: the upper tail of the negative binomial. Raises
    ValueError for numbers that cannot be."""
    from scipy.stats import nbinom

    shape = count(FAILURES, own.seen) + before.swaps
    hours = zero_or_more(EXPOSURE, own.hours) + before.hours
    planned = zero_or_more(PLANNED, planned)
    return float(nbinom.sf(count(FAILURES, spares), shape, hours / (hours + planned))) if planned else 0.0


@dataclass(frozen=True, slots=True)
class Purchase:
    """Of one sort: `leaving` pieces are gone by then with the level asked, `needed` are in use on the busiest day, and
    `there` can be used. `buy` is what lacks."""

    expected: float
    leaving: int
    needed: int
    there: int

    @property
    def buy(self) -> int:
        return max(0, self.needed + self.leaving - self.there)


def purchase(left: Rate, before: Prior, planned: float, level: float, needed: int, there: int) -> Purchase:
    """`left` are the pieces that were lost or worn out. Raises ValueError as `carry` does."""
    ahead = carry(left, before, planned, fraction(LEVEL, level))
    return Purchase(ahead.expected, ahead.spares, needed, there)


def about(hours: float) -> float:
    """To two figures: nobody changes a spring after 93.27 hours."""
    if not hours:
        return 0.0
    return round(hours, 1 - math.floor(math.log10(abs(hours))))
