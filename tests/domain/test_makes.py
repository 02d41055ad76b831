"""What is said of a make, as stories; its tests against lifelines on open data; deliveries named for recall."""

from collections.abc import Sequence

import numpy as np
import pytest
from lifelines import ExponentialFitter, WeibullFitter
from lifelines.datasets import load_leukemia, load_waltons
from lifelines.statistics import logrank_test

from equipment.domain import lifetimes
from equipment.domain.comparing import compare, fails_sooner, recalls
from equipment.domain.makes import SAYS, Costs, Lived, Make, advise, differs_from_chance, law_fits

SPRING, LOOP = "clippers_worn_spring", "clippers_loose_loop"
COSTS = Costs(4, 22)


def lived(hours: Sequence[float], fault: str = "", delivery: str = "") -> list[Lived]:
    return [Lived(each, fault, each, int(bool(fault)), delivery) for each in hours]


def worn(shape: float, scale: float, pieces: int = 40, until: float = 200) -> list[Lived]:
    """Evenly spread over the law, so that nothing hangs on luck; what outlives `until` has not failed yet."""
    shares = (np.arange(pieces) + 0.5) / pieces
    ages = scale * (-np.log(1 - shares)) ** (1 / shape)
    return lived([age for age in ages if age < until], SPRING) + lived([until] * sum(ages >= until))


def code(pieces: Sequence[Lived], costs: Costs = COSTS) -> str:
    return advise(Make(pieces), costs).code


def test_a_spring_that_wears_is_changed_when_that_is_cheapest() -> None:
    found = advise(Make(worn(3, 120)), COSTS)
    assert found.code == "change" and found.fault == SPRING and found.law is not None and found.fits
    best = lifetimes.replacement_age(found.law.shape, found.law.scale, 4, 22)
    assert best is not None and found.params["age"] == pytest.approx(best[0], rel=0.05)
    said = SAYS["change"] % {**found.params, "kind": "Clippers", "make": "A", "fault": "Worn spring"}
    assert said.startswith("Clippers of make A: put right what fails (“Worn spring”) after about 5")
    assert said.endswith("A planned change costs 4, a failure in the orchard 22.")


def test_where_a_planned_change_does_not_pay() -> None:
    assert code(worn(3, 120), Costs(22, 22)) == "does_not_pay"
    assert code(worn(3, 120), Costs(0, 22)) == code(worn(3, 120), Costs(4, 0)) == "no_costs"
    assert code(worn(1, 120)) == "by_chance"
    assert code(worn(0.4, 60)) == "early"


def test_an_age_that_no_piece_has_reached_is_said_to_be_one() -> None:
    found = advise(Make(worn(3, 500, pieces=300, until=150)), Costs(20, 22))
    assert found.code == "change_later" and found.params["age"] > 150


def test_too_little_to_go_by() -> None:
    assert code([]) == code(lived([0])) == "unused"
    assert code(lived([31.5])) == code(lived([20, 30, 40])) == "none_failed"
    assert code(lived([31.5], SPRING)) == code(lived([5, 9, 12, 30], SPRING)) == "too_little"
    assert advise(Make(lived([5, 9, 12, 30], SPRING)), COSTS).law is None


def test_all_failed_at_one_age() -> None:
    found = advise(Make(lived([80.2] * 6, SPRING) + lived([10, 20])), COSTS)
    assert found.code == "one_age" and found.params["age"] == 80 and found.law is None


def test_new_and_faulty_is_left_out_of_the_curve_and_counted() -> None:
    make = Make(lived([0, 0], SPRING) + lived([0]) + worn(3, 120))
    assert make.faulty_new == 2 and make.failures == Make(worn(3, 120)).failures
    assert advise(make, COSTS).code == "change"


def test_the_advice_is_of_the_fault_that_leads() -> None:
    pieces = worn(3, 120) + lived([11, 50, 90, 140], LOOP)
    make = Make(pieces)
    assert make.leading() == SPRING
    law = advise(make, COSTS).law
    hours, failed = [p.hours for p in make.lived], [p.fault == SPRING for p in make.lived]
    assert law == lifetimes.weibull(hours, failed)
    halves = Make(lived(range(20, 120, 10), SPRING) + lived(range(25, 125, 8), LOOP))
    assert halves.leading() == LOOP and Make(lived(range(1, 5), LOOP)).leading() == ""


def test_two_ways_of_failing_fit_no_law() -> None:
    """Half fail within their first hours, the rest wear out together: no shape does both."""
    pieces = lived(np.linspace(0.5, 3, 60), SPRING) + lived(np.linspace(95, 105, 60), SPRING)
    assert code(pieces) == "no_fit"


def test_against_lifelines_whether_it_wears() -> None:
    """Leukaemia remissions (Freireich et al. 1963, shipped by lifelines), treated and not."""
    data = load_leukemia()
    hours, failed = list(data["t"].astype(float)), list(data["status"].astype(bool))
    law = lifetimes.weibull(hours, failed)
    ratio = 2 * (
        WeibullFitter().fit(hours, failed).log_likelihood_
        - ExponentialFitter().fit(hours, failed).log_likelihood_
    )
    assert differs_from_chance(law, hours, failed) == (ratio > 3.841)  # chi-square, 1 degree, 95 % (printed)
    waltons = load_waltons()
    hours, failed = list(waltons["T"].astype(float)), list(waltons["E"].astype(bool))
    law = lifetimes.weibull(hours, failed)
    assert differs_from_chance(law, hours, failed) and law.shape > 1
    curve = lifetimes.survival(hours, failed)
    assert not law_fits(law, curve, hours, failed)  # two strains of flies mixed


def test_two_makes_against_lifelines() -> None:
    """Fly lives (shipped by lifelines as `waltons`): two groups, some censored."""
    data = load_waltons()
    groups = [
        [
            Lived(float(t), "worn_out" if e else "", float(t), int(e))
            for t, e in zip(rows["T"], rows["E"], strict=True)
        ]
        for _, rows in data.groupby("group")
    ]
    control, other = groups
    theirs = logrank_test(
        *([piece.hours for piece in group] for group in groups),
        event_observed_A=[bool(piece.fault) for piece in control],
        event_observed_B=[bool(piece.fault) for piece in other],
    )
    assert compare(control, other) == pytest.approx(theirs.p_value, rel=1e-6)
    assert compare(control[:20], control[20:40]) == pytest.approx(
        logrank_test(
            [piece.hours for piece in control[:20]],
            [piece.hours for piece in control[20:40]],
            [bool(piece.fault) for piece in control[:20]],
            [bool(piece.fault) for piece in control[20:40]],
        ).p_value,
        rel=1e-6,
    )


def test_what_cannot_be_compared() -> None:
    assert compare([], lived([3], SPRING)) is None
    assert compare(lived([3]), lived([4])) is None
    assert compare(lived([5], SPRING), lived([5], SPRING)) in (None, pytest.approx(1))


def test_a_delivery_that_fails_early_is_named_and_no_other() -> None:
    bad = lived([4, 9, 12, 15, 22, 31], SPRING, "D2") + lived([60] * 10, "", "D2")
    good = (
        lived([40, 55], LOOP, "D1")
        + lived([60] * 30, "", "D1")
        + lived([58], SPRING, "D3")
        + lived([60] * 20)
    )
    (found,) = recalls(bad + good)
    assert (found.delivery, found.pieces, found.failures) == ("D2", 16, 6)
    assert found.chance == fails_sooner(bad, good)
    assert recalls(good) == recalls(bad) == []
    two = lived([4, 9], SPRING, "D2") + lived([60] * 100, "", "D1")
    assert recalls(two) == []  # sooner, but two failures are no delivery to call back
