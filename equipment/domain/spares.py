"""How many spares to send, so that the crew seldom runs short.

Swaps come by chance at a steady rate per hour in use (Poisson). The rate is known only from the book: what was
seen is added to a prior from the whole kind (gamma), and the number for the day to come is drawn from both
doubts together (gamma-Poisson, which is the negative binomial). Source: Gelman et al., Bayesian Data Analysis,
section 2.6 (from memory).
"""

from equipment.domain.given import BadNumber, count, fraction, zero_or_more
from equipment.domain.words import gettext_noop

MEAN = gettext_noop("Swaps expected")
LEVEL = gettext_noop("How sure not to run short")
FAILURES = gettext_noop("Swaps seen")
EXPOSURE = gettext_noop("Hours in use behind them")
PLANNED = gettext_noop("Hours planned")
PRIOR_FAILURES = gettext_noop("Swaps of the whole kind")
PRIOR_EXPOSURE = gettext_noop("Hours in use of the whole kind")


def poisson_spares(mean: float, level: float) -> int:
    """The fewest spares that last with at least `level` where `mean` swaps are expected and the rate is sure.

    `mean` from 0; `level` a fraction between 0 and 1. Raises ValueError for numbers that cannot be.
    """
    from scipy.stats import poisson

    mean, level = zero_or_more(MEAN, mean), fraction(LEVEL, level)
    return int(poisson.ppf(level, mean)) if mean else 0


def spares_to_carry(
    failures: int,
    exposure: float,
    planned: float,
    level: float,
    prior_failures: float,
    prior_exposure: float,
) -> int:
    """The fewest spares that last `planned` hours in use with at least `level`, given `failures` in `exposure` hours.

    The prior counts like so many failures (need not be whole) in so many hours more: small numbers yield to the
    data soon. All hours are hours in use added up over the pieces, from 0; `level` is a fraction between 0 and 1.
    Raises ValueError for numbers that cannot be, and where neither the data nor the prior give a rate.
    """
    from scipy.stats import nbinom

    shape = count(FAILURES, failures) + zero_or_more(PRIOR_FAILURES, prior_failures)
    rate = zero_or_more(EXPOSURE, exposure) + zero_or_more(PRIOR_EXPOSURE, prior_exposure)
    planned, level = zero_or_more(PLANNED, planned), fraction(LEVEL, level)
    if not shape or not rate:
        raise BadNumber(
            gettext_noop(
                "Too little to go by: give swaps and hours of this gear, or a guess from gear like it."
            )
        )
    stays = rate / (rate + planned)
    return int(nbinom.ppf(level, shape, stays)) if stays < 1 else 0
