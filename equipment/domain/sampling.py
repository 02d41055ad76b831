"""How many to look at in a lot, and what the finding says about the rest.

Exact: items are drawn at random without putting back, so the faulty ones found follow the hypergeometric law. It
assumes that a faulty piece that is looked at is seen to be faulty. Never for ladders, goggles, trailers or first-aid
kits: those are all looked at.
"""

from bisect import bisect_left

from equipment.domain.given import count, fraction
from equipment.domain.words import gettext_noop

LOT = gettext_noop("Pieces in the lot")
FAULTY = gettext_noop("Faulty pieces that must not be missed")
SAMPLE = gettext_noop("Pieces looked at")
FOUND = gettext_noop("Faulty pieces found")
CONFIDENCE = gettext_noop("How sure to be")

# A chance that equals the risk on paper (one piece left of 20, at 95 %) must not miss it by the last binary digit.
ROUNDING = 1e-9


def sample_size(lot: int, faulty: int, confidence: float) -> int:
    """The fewest pieces to look at so as to see a faulty one with at least `confidence`, if `faulty` are in the lot.

    `faulty` is a count from 1 to `lot`, `confidence` a fraction between 0 and 1. Source: Cannon and Roe 1982,
    Livestock Disease Surveys; FAO/IPPC ISPM 31, 2008. Raises ValueError for numbers that cannot be.
    """
    lot = count(LOT, lot, 1)
    faulty = count(FAULTY, faulty, 1, lot)
    risk = 1 - fraction(CONFIDENCE, confidence)
    # Once all the sound pieces have been looked at the next one is faulty.
    surely_enough = lot - faulty + 1
    return bisect_left(range(surely_enough), True, key=lambda n: _rare(0, lot, faulty, n, risk))


def faulty_at_most(lot: int, sample: int, found: int, confidence: float) -> int:
    """The most faulty pieces that the whole lot can still have held, those found included.

    The exact one-sided limit: the largest number with which `found` or fewer in the sample had a chance above
    1 - `confidence`. `sample` from 0 (says nothing: the whole lot) to `lot` (says all: what was found); `found` from 0
    to `sample`; `confidence` a fraction between 0 and 1. Raises ValueError for numbers that cannot be.
    """
    lot = count(LOT, lot, 1)
    sample = count(SAMPLE, sample, 0, lot)
    found = count(FOUND, found, 0, sample)
    risk = 1 - fraction(CONFIDENCE, confidence)
    possible = range(found, lot - sample + found + 1)
    first_refuted = bisect_left(possible, True, key=lambda faulty: _rare(found, lot, faulty, sample, risk))
    return possible[first_refuted - 1]


def _rare(found: int, lot: int, faulty: int, sample: int, risk: float) -> bool:
    """Whether `found` or fewer in the sample have a chance of at most `risk`."""
    from scipy.stats import hypergeom

    return bool(hypergeom.cdf(found, lot, faulty, sample) <= risk * (1 + ROUNDING))
