"""How long gear lasts, when a planned change pays, and how sure that is.

A life is counted in hours in use. A piece that has not failed yet, or left for another cause, is *censored*: it lasted
at least so long. Durations and `failed` go side by side, one of each a piece.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from equipment.domain.given import BadNumber, above_zero, count, fraction, zero_or_more
from equipment.domain.words import gettext_noop

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[Any]

DURATION = gettext_noop("Hours in use")
CONFIDENCE = gettext_noop("How sure to be")
FAILURES = gettext_noop("Failures")
HOURS = gettext_noop("Hours in use, all pieces together")
SHAPE = gettext_noop("Shape of the Weibull law")
SCALE = gettext_noop("Scale of the Weibull law")
PLANNED_COST = gettext_noop("Cost of a planned change")
FAILURE_COST = gettext_noop("Cost of a failure")

# Beyond this cumulative hazard fewer than one piece in 10^15 still works.
NEARLY_ALL_FAILED = 36.0


@dataclass(frozen=True, slots=True)
class Curve:
    """The share still working after each time, with limits for that time alone.

    `times` are the distinct durations, rising, censored ones too, so that the last tells how far the data reach; before
    the first the share is 1. While nothing has failed the limits are 1 and 1, which says nothing about the next piece.
    """

    times: tuple[float, ...]
    survival: tuple[float, ...]
    lower: tuple[float, ...]
    upper: tuple[float, ...]

    @property
    def median(self) -> float | None:
        """The first time by which at least half have failed; None where the data do not reach so far."""
        half = 0.5 + 1e-12  # a half that was multiplied together may come out a hair above
        return next(
            (time for time, share in zip(self.times, self.survival, strict=True) if share <= half), None
        )


@dataclass(frozen=True, slots=True)
class Weibull:
    """Share failed by t hours: 1 - exp(-(t / scale) ** shape); a shape above 1 wears out, below 1 fails early."""

    shape: float
    scale: float
    log_likelihood: float


def survival(durations: Sequence[float], failed: Sequence[bool], confidence: float = 0.95) -> Curve:
    """The Kaplan-Meier curve, with pointwise limits by Greenwood's formula on the log(-log) scale.

    That scale keeps the limits between 0 and 1. Where the last piece has failed it has no value: there the lower limit
    is 0 and the upper that of the step before. Durations in hours from 0. Source: Kaplan and Meier 1958; scipy's
    `ecdf`. Raises ValueError where there are no data, lengths differ, or a duration cannot be.
    """
    from scipy.stats import CensoredData, ecdf

    hours, broke = _lives(durations, failed)
    level = fraction(CONFIDENCE, confidence)
    curve = ecdf(CensoredData(uncensored=hours[broke], right=hours[~broke])).sf
    times, shares = curve.quantiles, curve.probabilities
    lower, upper = _limits(times, shares, hours, broke, level)
    return Curve(*(tuple(column.tolist()) for column in (times, shares, lower, upper)))


def weibull(durations: Sequence[float], failed: Sequence[bool]) -> Weibull:
    """The Weibull law under which these lives are likeliest.

    The scale follows from the shape, and the slope of the likelihood in the shape falls all the way: its one root is
    the maximum. Durations in hours, from 0. Source: NIST/SEMATECH e-Handbook, section 8.4.1. Raises ValueError where
    no law is likeliest: nothing has failed, it failed at 0 hours, or all of it at one age that no piece outlived.
    """
    import numpy as np
    from scipy.optimize import brentq

    hours, broke = _lives(durations, failed)
    failures, longest = int(broke.sum()), float(hours.max())
    if not hours[broke].all():
        raise BadNumber(
            gettext_noop("A piece that failed before its first hour did not wear out: leave it out.")
        )
    in_use = hours > 0  # a piece not used yet says nothing
    hours, broke = hours[in_use], broke[in_use]
    logs = np.log(hours / longest)  # at most 0, so that no power overflows
    mean_log = float(logs[broke].mean()) if failures else 0.0
    if not mean_log:
        raise _no_law(failures)

    def slope(shape: float) -> float:
        weights = np.exp(shape * logs)
        return 1 / shape + mean_log - float((weights * logs).sum() / weights.sum())

    low = -0.5 / mean_log  # there the slope is at least -mean_log, above zero
    high = 2 * low
    while slope(high) > 0:
        high *= 2
    shape = brentq(slope, low, high)
    log_scale = math.log(longest) + math.log(np.exp(shape * logs).sum() / failures) / shape
    log_failed = failures * (mean_log + math.log(longest))
    likelihood = failures * (math.log(shape) - shape * log_scale - 1) + (shape - 1) * log_failed
    return Weibull(shape, math.exp(log_scale), likelihood)


def replacement_age(
    shape: float, scale: float, planned_cost: float, failure_cost: float
) -> tuple[float, float] | None:
    """(age in hours at which to change, cost per hour then): the age at which the long-run cost is lowest.

    None where a planned change never pays: it costs no less than a failure, the piece does not wear (shape at most 1),
    or wears so slowly that practically every one fails first. All four numbers are above 0; `scale` in hours, both
    costs in the same money. Source: Barlow and Hunter 1960 (from memory); ReliaWiki's worked example. Raises
    ValueError for numbers that cannot be.
    """
    from scipy.optimize import brentq
    from scipy.special import gamma, gammainc

    shape, scale = above_zero(SHAPE, shape), above_zero(SCALE, scale)
    planned, failure = above_zero(PLANNED_COST, planned_cost), above_zero(FAILURE_COST, failure_cost)
    if shape <= 1 or failure <= planned:
        return None
    mean_life = gamma(1 + 1 / shape)  # in units of scale, as `age` below
    worth = planned / (failure - planned)

    def hazard(age: float) -> float:
        return shape * math.pow(age, shape - 1)

    def excess(age: float) -> float:
        """Hazard x mean time in use - share failed, less what it must reach; rises with age."""
        time_in_use = mean_life * gammainc(1 / shape, age**shape)
        return float(hazard(age) * time_in_use + math.expm1(-(age**shape)) - worth)

    latest = NEARLY_ALL_FAILED ** (1 / shape)
    if excess(latest) < 0:
        return None
    age = brentq(excess, 0.0, latest, xtol=1e-14)
    return age * scale, (failure - planned) * hazard(age) / scale


def mtbf_bounds(failures: int, hours: float, confidence: float) -> tuple[float, float]:
    """(low, high) for the mean hours between failures: the two-sided exact limits from the chi-square law.

    Time-terminated: the book is read at a moment of our choosing, not at a failure, so the lower limit has
    2 x failures + 2 degrees of freedom. Without a failure `high` is infinite. `hours` in use of all pieces together,
    above 0; failures come at a steady rate. Source: NIST/SEMATECH e-Handbook, section 8.4.5.1. Raises ValueError for
    numbers that cannot be.
    """
    from scipy.stats import chi2

    failures, hours = count(FAILURES, failures), above_zero(HOURS, hours)
    tail = (1 - fraction(CONFIDENCE, confidence)) / 2
    low = 2 * hours / float(chi2.isf(tail, 2 * failures + 2))
    high = 2 * hours / float(chi2.ppf(tail, 2 * failures)) if failures else math.inf
    return low, high


def _lives(durations: Sequence[float], failed: Sequence[bool]) -> tuple["Array", "Array"]:
    """Both as arrays: hours as floats, failed as booleans."""
    import numpy as np

    if not len(durations):
        raise BadNumber(gettext_noop("No history yet: nothing can be said about how long this gear lasts."))
    if len(durations) != len(failed):
        raise BadNumber(
            gettext_noop(
                "Each piece needs its hours and whether it failed: %(hours)s hours, %(failed)s answers."
            ),
            hours=len(durations),
            failed=len(failed),
        )
    hours = np.asarray(durations, dtype=float)
    for wrong in hours[~(np.isfinite(hours) & (hours >= 0))]:
        zero_or_more(DURATION, wrong)
    return hours, np.asarray(failed, dtype=bool)


def _limits(
    times: "Array", shares: "Array", hours: "Array", broke: "Array", confidence: float
) -> tuple["Array", "Array"]:
    """Lower and upper limits of `shares` at `times`; see `survival`."""
    import numpy as np
    from scipy.stats import norm

    last = shares[-1] == 0
    if last:
        times, shares = times[:-1], shares[:-1]
    at_risk = len(hours) - np.searchsorted(np.sort(hours), times)
    ends = np.sort(hours[broke])
    failing = np.searchsorted(ends, times, "right") - np.searchsorted(ends, times)
    variance = np.cumsum(failing / (at_risk * (at_risk - failing)))
    log_share = np.maximum(-np.log(shares), np.finfo(float).tiny)  # the variance is 0 where the share is 1
    power = np.exp(norm.isf((1 - confidence) / 2) * np.sqrt(variance) / log_share)
    lower, upper = shares**power, shares ** (1 / power)
    if last:
        lower, upper = np.append(lower, 0.0), np.append(upper, upper[-1] if len(upper) else 1.0)
    return lower, upper


def _no_law(failures: int) -> BadNumber:
    if not failures:
        return BadNumber(
            gettext_noop("Nothing has failed yet: a law of wear needs failures, of two ages or more.")
        )
    return BadNumber(
        gettext_noop(
            "All failures came at one age that no piece outlived: they do not tell how the wear spreads."
        )
    )
