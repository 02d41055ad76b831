"""Lives against published data and reference libraries, and what cannot be said refused in plain words."""

import math
from collections.abc import Callable, Sequence

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from lifelines import KaplanMeierFitter, WeibullFitter
from lifelines.datasets import load_leukemia, load_lung, load_waltons
from scipy.integrate import quad
from scipy.stats import CensoredData, poisson, weibull_min

from equipment.domain.lifetimes import Curve, mtbf_bounds, replacement_age, survival, weibull

Lives = tuple[list[float], list[bool]]

# NIST/SEMATECH e-Handbook 8.4.1.3: ten failures, ten units still working at 500 hours.
NIST: Lives = (
    [54, 187, 216, 240, 244, 335, 361, 373, 375, 386] + [500] * 10,
    [True] * 10 + [False] * 10,
)


def freireich() -> Lives:
    """Freireich et al. 1963, Blood 21:699, the 6-MP arm, as lifelines ships it."""
    arm = load_leukemia().query("Rx == 0")
    return arm["t"].tolist(), arm["status"].astype(bool).tolist()


def waltons() -> Lives:
    data = load_waltons()
    return data["T"].tolist(), data["E"].astype(bool).tolist()


def lung() -> Lives:
    """The lung cancer data of Loprinzi et al. 1994, as lifelines ships them: many ties, few censored."""
    data = load_lung()
    return data["time"].tolist(), data["status"].astype(bool).tolist()


ages = st.floats(0.5, 500).map(lambda age: round(age, 1))
lives = st.lists(st.tuples(ages, st.booleans()), min_size=1, max_size=40).map(
    lambda rows: ([age for age, _ in rows], [failed for _, failed in rows])
)


def at(curve: Curve, time: float) -> float:
    return dict(zip(curve.times, curve.survival, strict=True))[time]


class TestSurvival:
    def test_the_published_curve(self) -> None:
        curve = survival(*freireich())
        published = {6: 0.8571, 7: 0.8067, 10: 0.7529, 13: 0.6902, 16: 0.6275, 22: 0.5378, 23: 0.4482}
        assert {time: round(at(curve, time), 4) for time in published} == published
        assert curve.median == 23

    @pytest.mark.parametrize("data", [freireich, waltons, lung])
    @pytest.mark.parametrize("confidence", [0.95, 0.8])
    def test_curve_and_limits_against_lifelines(self, data: Callable[[], Lives], confidence: float) -> None:
        # lifelines too puts Greenwood's limits on the log(-log) scale.
        durations, failed = data()
        curve = survival(durations, failed, confidence)
        oracle = KaplanMeierFitter(alpha=1 - confidence).fit(durations, failed)
        limits = oracle.confidence_interval_survival_function_.loc[list(curve.times)].to_numpy().T
        doubt = np.array([0 < share < 1 for share in curve.survival])
        assert curve.survival == pytest.approx(oracle.survival_function_at_times(curve.times).to_list())
        assert np.array(curve.lower)[doubt] == pytest.approx(limits[0][doubt])
        assert np.array(curve.upper)[doubt] == pytest.approx(limits[1][doubt])
        assert curve.median == oracle.median_survival_time_

    @given(lives)
    def test_a_curve_falls_between_its_limits(self, life: Lives) -> None:
        curve = survival(*life)
        assert list(curve.times) == sorted(set(life[0]))
        assert all(
            0 <= low <= share <= high <= 1
            for low, share, high in zip(curve.lower, curve.survival, curve.upper, strict=True)
        )
        assert list(curve.survival) == sorted(curve.survival, reverse=True)

    def test_before_anything_fails_and_after_everything_has(self) -> None:
        assert survival([5], [False]) == Curve((5,), (1,), (1,), (1,))
        assert survival([5, 5], [True, True]) == Curve((5,), (0,), (0,), (1,))
        half_then_none = survival([3, 8], [True, True])
        assert half_then_none.survival == (0.5, 0)
        assert (half_then_none.lower[1], half_then_none.upper[1]) == (0, half_then_none.upper[0])

    def test_no_median_where_the_data_do_not_reach_it(self) -> None:
        assert survival([3, 8, 8], [True, False, False]).median is None
        assert survival([3, 8], [True, False]).median == 3


class TestWeibull:
    def test_the_published_fit(self) -> None:
        law = weibull(*NIST)
        assert law.scale == pytest.approx(606.528, abs=0.001)
        assert law.shape == pytest.approx(1.7208, abs=0.0001)
        assert law.log_likelihood == pytest.approx(-75.135, abs=0.001)

    @pytest.mark.parametrize("data", [freireich, waltons, lung, lambda: NIST])
    def test_against_lifelines(self, data: Callable[[], Lives]) -> None:
        law, oracle = weibull(*data()), WeibullFitter().fit(*data())
        assert law.shape == pytest.approx(oracle.rho_, rel=1e-4)
        assert law.scale == pytest.approx(oracle.lambda_, rel=1e-4)
        assert law.log_likelihood == pytest.approx(oracle.log_likelihood_, abs=1e-4)

    def test_early_failures_give_a_shape_below_one(self) -> None:
        ages, failed = [1, 2, 3, 5, 8, 150, 400, 400], [True] * 6 + [False] * 2
        law = weibull(ages, failed)
        shape, _, scale = weibull_min.fit(CensoredData.right_censored(ages, ~np.array(failed)), floc=0)
        assert law.shape < 1
        assert (law.shape, law.scale) == pytest.approx((shape, scale), rel=1e-3)

    @settings(max_examples=60)
    @given(lives)
    def test_no_law_near_by_is_likelier(self, life: Lives) -> None:
        durations, failed = np.array(life[0]), np.array(life[1])
        assume(failed.any() and durations[failed].min() < durations.max())
        law = weibull(*life)

        def likelihood(shape: float, scale: float) -> float:
            broke = weibull_min.logpdf(durations[failed], shape, scale=scale).sum()
            return float(broke + weibull_min.logsf(durations[~failed], shape, scale=scale).sum())

        best = likelihood(law.shape, law.scale)
        assert law.log_likelihood == pytest.approx(best, rel=1e-6, abs=1e-6)
        for shape, scale in [(1.01, 1), (0.99, 1), (1, 1.01), (1, 0.99)]:
            assert likelihood(law.shape * shape, law.scale * scale) <= best + 1e-9 * abs(best)

    def test_a_piece_not_used_yet_says_nothing(self) -> None:
        assert weibull([0, *NIST[0]], [False, *NIST[1]]) == weibull(*NIST)

    def test_one_failure_that_others_outlived_is_enough(self) -> None:
        law = weibull([40, 90, 90], [True, False, False])
        assert law.shape > 0 and law.scale > 40


def cost_rate(age: float, shape: float, scale: float, planned: float, failure: float) -> float:
    """Cost per hour of changing at `age`, from its definition: cost of a life over its mean length."""
    lasts = weibull_min.sf(age, shape, scale=scale)
    length, _ = quad(lambda hours: weibull_min.sf(hours, shape, scale=scale), 0, age, limit=200)
    return float((planned * lasts + failure * (1 - lasts)) / length)


class TestReplacementAge:
    def test_the_published_example(self) -> None:
        # ReliaWiki's worked example (formula seen, answer from memory): 493.05 h. The cost per hour there, from the
        # definition by quadrature, is .003462043.
        found = replacement_age(2.5, 1000, 1, 5)
        assert found == pytest.approx((493.05, 0.003462043), rel=1e-5)
        assert found is not None and found[1] == pytest.approx(cost_rate(493.05, 2.5, 1000, 1, 5), rel=1e-9)
        run_to_failure = 5 / (1000 * math.gamma(1.4))
        assert run_to_failure == pytest.approx(0.0056353, abs=5e-8)

    @settings(max_examples=25)
    @given(st.floats(1.2, 8), st.floats(1, 5000), st.floats(0.1, 10), st.floats(1.5, 50))
    def test_no_other_age_costs_less(self, shape: float, scale: float, planned: float, times: float) -> None:
        found = replacement_age(shape, scale, planned, planned * times)
        assume(found)
        assert found is not None
        age, rate = found
        assert rate == pytest.approx(cost_rate(age, shape, scale, planned, planned * times), rel=1e-6)
        for other in (0.5, 0.9, 1.1, 2):
            assert cost_rate(age * other, shape, scale, planned, planned * times) >= rate * (1 - 1e-9)
        assert rate <= planned * times / (scale * math.gamma(1 + 1 / shape)) * (1 + 1e-9)

    @pytest.mark.parametrize(
        ("shape", "planned", "failure"),
        [
            (1, 1, 5),  # chance failures: a new piece is no better
            (0.7, 1, 5),  # early failures: a new one is worse
            (2.5, 5, 5),
            (2.5, 6, 5),
            (1.02, 1, 5),  # wears so slowly that every piece fails before the change
        ],
    )
    def test_where_a_planned_change_never_pays(self, shape: float, planned: float, failure: float) -> None:
        assert replacement_age(shape, 1000, planned, failure) is None

    def test_ages_scale_with_the_law_and_costs_with_the_money(self) -> None:
        first, second = replacement_age(2.5, 1000, 1, 5), replacement_age(2.5, 10, 4, 20)
        assert first is not None and second is not None
        assert second == pytest.approx((first[0] / 100, first[1] * 400))


class TestMtbfBounds:
    def test_the_published_example(self) -> None:
        # NIST/SEMATECH e-Handbook 8.4.5.1 (formula seen, example from memory): 2 failures in 1600 hours, 90 %.
        assert mtbf_bounds(2, 1600, 0.9) == pytest.approx((254, 4502), abs=0.5)
        assert mtbf_bounds(2, 1600, 0.9) == pytest.approx((800 * 0.3177, 800 * 5.6281), rel=1e-4)

    @given(st.integers(0, 200), st.floats(0.1, 1e6), st.floats(0.01, 0.999))
    def test_at_each_limit_what_was_seen_is_just_so_rare(
        self, failures: int, hours: float, sure: float
    ) -> None:
        low, high = mtbf_bounds(failures, hours, sure)
        tail = (1 - sure) / 2
        assert poisson.cdf(failures, hours / low) == pytest.approx(tail, rel=1e-6)
        assert low < high
        if failures:
            assert poisson.sf(failures - 1, hours / high) == pytest.approx(tail, rel=1e-6)

    def test_without_a_failure_there_is_no_upper_limit(self) -> None:
        low, high = mtbf_bounds(0, 1000, 0.9)
        # exp(-hours / low) = 0.05, by hand
        assert low == pytest.approx(1000 / -math.log(0.05))
        assert high == math.inf


def named(call: Callable[..., object], *given: object) -> tuple[Callable[[], object], str]:
    *arguments, sentence = given
    return lambda: call(*arguments), str(sentence)


NOTHING: Sequence[float] = []


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        named(survival, NOTHING, [], "No history yet"),
        named(weibull, NOTHING, [], "No history yet"),
        named(
            survival, [5, 6], [True], "Each piece needs its hours and whether it failed: 2 hours, 1 answers"
        ),
        named(survival, [5, -1], [True, True], "Hours in use: give zero or more, not -1"),
        named(survival, [5, math.nan], [True, True], "Hours in use: “nan” is not a number"),
        named(weibull, [5, math.inf], [True, False], "Hours in use: “inf” is not a number"),
        named(survival, [5], [True], 95, "How sure to be: give a fraction"),
        named(weibull, [5], [True], "All failures came at one age that no piece outlived"),
        named(weibull, [5, 5, 3], [True, True, False], "All failures came at one age that no piece outlived"),
        named(weibull, [5, 9], [False, False], "Nothing has failed yet"),
        named(weibull, [0], [False], "Nothing has failed yet"),
        named(weibull, [0, 5, 9], [True, True, True], "A piece that failed before its first hour"),
        named(replacement_age, 0, 1000, 1, 5, "Shape of the Weibull law: give a number above zero"),
        named(replacement_age, 2, -1, 1, 5, "Scale of the Weibull law: give a number above zero"),
        named(replacement_age, 2, 1000, 0, 5, "Cost of a planned change: give a number above zero"),
        named(replacement_age, 2, 1000, 1, math.nan, "Cost of a failure: “nan” is not a number"),
        named(mtbf_bounds, -1, 1000, 0.9, "Failures: give a whole number from 0, not -1"),
        named(mtbf_bounds, 2.5, 1000, 0.9, "Failures: give a whole number from 0, not 2.5"),
        named(mtbf_bounds, 2, 0, 0.9, "Hours in use, all pieces together: give a number above zero, not 0"),
        named(mtbf_bounds, 2, 1000, 1, "How sure to be: give a fraction"),
    ],
)
def test_what_cannot_be_said(call: Callable[[], object], sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        call()
