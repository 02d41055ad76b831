"""Rates against printed limits, spares for sorts that few data stand behind by simulation, purchases and roundings."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.special import pdtrc
from scipy.stats import binom, gamma

from equipment.domain.figures import Prior, Rate, about, carry, chance_of_short, prior, purchase
from equipment.domain.given import BadNumber


@pytest.mark.parametrize(
    ("seen", "low", "high"),
    # Garwood 1936, Biometrika 28:437-442: exact 95 % limits of a Poisson count (from memory; printed in many tables).
    [(0, 0, 3.689), (1, 0.025, 5.572), (2, 0.242, 7.225), (5, 1.623, 11.668), (10, 4.795, 18.390)],
)
def test_limits_of_a_count_as_they_are_printed(seen: int, low: float, high: float) -> None:
    # The upper limit of none is two-sided here; some tables print the one-sided 2.996.
    found = Rate(seen, 1000).limits
    assert found is not None
    assert found == (pytest.approx(low, abs=0.001), pytest.approx(high, abs=0.001))


def test_a_rate_without_hours_says_nothing() -> None:
    assert Rate(0, 0).per_1000 is Rate(0, 0).limits is Rate(0, 0).between is None
    assert Rate(3, 600).per_1000 == 5
    low, high = Rate(0, 600).between or (0, 0)
    assert low == pytest.approx(600 / 3.689, abs=0.1) and math.isinf(high)


def test_the_rest_of_the_kind_counts_like_one_swap() -> None:
    assert prior(Rate(9, 950)) == Prior(1, 100)  # (9 + 1/2) / 950 is one in 100 hours
    assert prior(Rate(0, 400)) == Prior(1, 800)
    assert prior(Rate(0, 0)) == Prior(0.5, 0)


def by_integral(own: Rate, before: Prior, planned: float, spares: int) -> float:
    rates = gamma(own.seen + before.swaps, scale=1 / (own.hours + before.hours))
    value, _ = quad(
        lambda rate: pdtrc(spares, rate * planned) * rates.pdf(rate), 0, rates.isf(1e-13), epsabs=1e-9
    )
    return float(value)


@pytest.mark.parametrize("own", [Rate(0, 30), Rate(4, 900), Rate(12, 300)])
@pytest.mark.parametrize("planned", [8, 240])
def test_the_chance_of_running_short_over_all_rates_that_may_be(own: Rate, planned: float) -> None:
    before = prior(Rate(20, 4000))
    found = carry(own, before, planned, 0.95)
    assert found.short == pytest.approx(by_integral(own, before, planned, found.spares), abs=1e-6)
    assert found.short <= 0.05
    if found.spares:
        assert chance_of_short(own, before, planned, found.spares - 1) > 0.05
    assert found.expected == pytest.approx(planned * (own.seen + 1) / (own.hours + before.hours))


def test_over_10_000_simulated_days_of_gear_hardly_known_the_crew_runs_short_as_seldom_as_stated() -> None:
    """Each day another sort, whose rate scatters about its kind's as the prior has it: some data, then the day."""
    dice, days, hours, planned = np.random.default_rng(20), 10_000, 300.0, 120.0
    before = prior(Rate(9, 1900))
    rates = dice.gamma(before.swaps, 1 / before.hours, days)
    seen, swaps = dice.poisson(rates * hours), dice.poisson(rates * planned)
    carried = {count: carry(Rate(int(count), hours), before, planned, 0.95) for count in np.unique(seen)}
    short = sum(int(swap > carried[count].spares) for count, swap in zip(seen, swaps, strict=True))
    assert short <= binom.ppf(0.999, days, 0.05)
    # And it is no wild guess either: what was said to happen is what happens.
    said = sum(carried[count].short for count in seen)
    assert abs(short - said) < 4 * math.sqrt(days * 0.05 * 0.95)


def test_nothing_planned_and_nothing_known() -> None:
    assert carry(Rate(3, 100), Prior(1, 100), 0, 0.95).spares == 0
    assert carry(Rate(3, 100), Prior(1, 100), 0, 0.95).short == 0
    with pytest.raises(BadNumber, match="Too little to go by"):
        carry(Rate(0, 0), Prior(0.5, 0), 8, 0.95)


def test_what_lacks_is_bought_and_nothing_else() -> None:
    found = purchase(Rate(10, 10_000), Prior(1, 1000), 4000, 0.95, needed=100, there=101)
    assert (
        found.expected == pytest.approx(4)
        and found.leaving == carry(Rate(10, 10_000), Prior(1, 1000), 4000, 0.95).spares
    )
    assert found.buy == 100 + found.leaving - 101
    assert purchase(Rate(10, 10_000), Prior(1, 1000), 4000, 0.95, needed=100, there=500).buy == 0


@given(st.floats(0.01, 1e6))
def test_about_keeps_two_figures(hours: float) -> None:
    assert about(hours) == pytest.approx(hours, rel=0.051)
    assert len(f"{about(hours):e}".split("e")[0].rstrip("0").replace(".", "")) <= 2


def test_about_by_hand() -> None:
    assert [about(hours) for hours in (0, 93.27, 5.449, 1234, 0.96)] == [0, 93, 5.4, 1200, 0.96]
