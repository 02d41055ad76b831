"""Spares against tables, against the integral they stand for, and against a season of simulated days."""

from collections.abc import Callable
from functools import cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.special import pdtr
from scipy.stats import binom, gamma, poisson

from equipment.domain.spares import poisson_spares, spares_to_carry

levels = st.floats(0.01, 0.999)


@pytest.mark.parametrize(("mean", "spares"), [(0, 0), (1, 3), (2, 5), (5, 9), (10, 15)])
def test_stock_at_95_per_cent_when_the_rate_is_sure(mean: float, spares: int) -> None:
    # Computed with scipy; printed Poisson sums agree (from memory): for mean 1, three last with .9810, two with .9197.
    assert poisson_spares(mean, 0.95) == spares


@given(st.floats(0, 500), levels)
def test_one_spare_fewer_would_not_do(mean: float, level: float) -> None:
    spares = poisson_spares(mean, level)
    assert poisson.cdf(spares, mean) >= level - 1e-9
    assert spares == 0 or poisson.cdf(spares - 1, mean) < level + 1e-9


def chance_of_lasting(spares: int, swaps: float, hours: float, planned: float) -> float:
    """The chance over all rates that gamma(swaps, hours) allows, each weighed: an integral, not the closed form."""
    rates = gamma(swaps, scale=1 / hours)
    value, _ = quad(
        lambda rate: pdtr(spares, rate * planned) * rates.pdf(rate), 0, rates.isf(1e-12), epsabs=1e-6
    )
    return float(value)


@pytest.mark.parametrize(
    ("failures", "exposure", "planned", "prior_failures", "prior_exposure"),
    [(3, 100, 40, 1, 50), (0, 30, 8, 0.5, 20), (12, 400, 90, 2.5, 60), (0, 0, 25, 4, 100)],
)
@pytest.mark.parametrize("level", [0.5, 0.9, 0.99])
def test_the_quantile_of_the_mixture(
    failures: int, exposure: float, planned: float, prior_failures: float, prior_exposure: float, level: float
) -> None:
    spares = spares_to_carry(failures, exposure, planned, level, prior_failures, prior_exposure)
    swaps, hours = failures + prior_failures, exposure + prior_exposure
    assert chance_of_lasting(spares, swaps, hours, planned) >= level
    assert spares == 0 or chance_of_lasting(spares - 1, swaps, hours, planned) < level


def test_one_swap_in_as_many_hours_as_planned() -> None:
    # The geometric law by hand: P(at most k) = 1 - 1/2^(k+1), so that 95 % takes 4.
    assert spares_to_carry(1, 8, 8, 0.95, 0, 0) == 4
    assert spares_to_carry(0, 0, 8, 0.95, 1, 8) == 4


def test_much_history_is_as_good_as_a_sure_rate() -> None:
    assert spares_to_carry(2_000_000, 1_000_000, 5, 0.95, 1, 1) == poisson_spares(10, 0.95) == 15


@given(
    st.integers(0, 30), st.floats(1, 500), st.floats(0, 100), levels, st.floats(0.1, 10), st.floats(1, 100)
)
def test_more_swaps_more_hours_and_more_certainty_never_take_fewer(
    failures: int, exposure: float, planned: float, level: float, prior: float, prior_hours: float
) -> None:
    spares = spares_to_carry(failures, exposure, planned, level, prior, prior_hours)
    assert spares <= spares_to_carry(failures + 1, exposure, planned, level, prior, prior_hours)
    assert spares <= spares_to_carry(failures, exposure, planned + 10, level, prior, prior_hours)
    assert spares <= spares_to_carry(failures, exposure, planned, (level + 1) / 2, prior, prior_hours)


def test_nothing_planned_takes_nothing() -> None:
    assert spares_to_carry(5, 100, 0, 0.99, 1, 10) == 0


def test_over_10_000_simulated_days_the_crew_runs_short_as_seldom_as_stated() -> None:
    days, level, planned, exposure, prior_failures, prior_exposure = 10_000, 0.9, 60, 200, 2.0, 80
    chance = np.random.default_rng(20260712)
    rates = chance.gamma(prior_failures, 1 / prior_exposure, days)
    seen, swaps = chance.poisson(rates * exposure), chance.poisson(rates * planned)

    @cache
    def carried(failures: int) -> int:
        return spares_to_carry(failures, exposure, planned, level, prior_failures, prior_exposure)

    short = sum(int(needed) > carried(int(failures)) for failures, needed in zip(seen, swaps, strict=True))
    assert short <= binom.ppf(0.9999, days, 1 - level)
    # Nor by carrying far too many: one spare fewer each day would break the promise.
    worse = sum(
        int(needed) > carried(int(failures)) - 1 for failures, needed in zip(seen, swaps, strict=True)
    )
    assert worse > binom.ppf(0.9999, days, 1 - level)


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: poisson_spares(-1, 0.95), "Swaps expected: give zero or more, not -1"),
        (lambda: poisson_spares(float("nan"), 0.95), "Swaps expected: “nan” is not a number"),
        (lambda: poisson_spares(1, 95), "How sure not to run short: give a fraction between 0 and 1"),
        (lambda: spares_to_carry(-1, 1, 1, 0.9, 1, 1), "Swaps seen: give a whole number from 0, not -1"),
        (lambda: spares_to_carry(1, -1, 1, 0.9, 1, 1), "Hours in use behind them: give zero or more"),
        (lambda: spares_to_carry(1, 1, -1, 0.9, 1, 1), "Hours planned: give zero or more"),
        (lambda: spares_to_carry(1, 1, 1, 0, 1, 1), "How sure not to run short: give a fraction"),
        (lambda: spares_to_carry(1, 1, 1, 0.9, -1, 1), "Swaps of the whole kind: give zero or more"),
        (lambda: spares_to_carry(1, 1, 1, 0.9, 1, -1), "Hours in use of the whole kind: give zero or more"),
        (lambda: spares_to_carry(0, 0, 8, 0.9, 0, 0), "Too little to go by"),
        (lambda: spares_to_carry(0, 100, 8, 0.9, 0, 0), "Too little to go by"),
        (lambda: spares_to_carry(3, 0, 8, 0.9, 0, 0), "Too little to go by"),
    ],
)
def test_numbers_that_cannot_be(call: Callable[[], int], sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        call()
