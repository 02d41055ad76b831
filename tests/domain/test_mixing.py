"""What is measured out makes the bath that was asked for: as parts, and as product made up to a volume."""

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from equipment.domain.given import BadNumber
from equipment.domain.mixing import Mixture, measurable, mixture, whole_parts

percents = st.floats(0.01, 100)


@pytest.mark.parametrize(
    ("strength", "wanted", "parts"),
    [
        # CDC, Best Practices for Environmental Cleaning in Global Healthcare Facilities, Appendix E.
        (3.5, 0.5, (1, 6)),
        (5, 0.1, (1, 49)),
        # Iowa State University Extension: 1 part of household bleach and 9 parts of water.
        (5, 0.5, (1, 9)),
        # Used as it is.
        (5, 5, (1, 0)),
        # Computed: 5.25 % to 1 % is 4.25 parts of water to one of product.
        (5.25, 1, (4, 17)),
        # Computed: 3.76 parts; 4 + 15 is 1.053 %, 1 + 4 would be weaker than asked.
        (5, 1.05, (4, 15)),
    ],
)
def test_whole_parts(strength: float, wanted: float, parts: tuple[int, int]) -> None:
    assert whole_parts(strength, wanted) == parts


@given(percents, percents)
def test_parts_are_never_weaker_than_asked_and_hardly_stronger(strength: float, wanted: float) -> None:
    assume(wanted <= strength)
    product, water = whole_parts(strength, wanted)
    made = strength * product / (product + water)
    assert wanted * (1 - 1e-6) <= made <= wanted * 1.05 + 1e-9


def test_made_up_to() -> None:
    # CDC, chlorine solution for non-healthcare settings, 9 February 2021: 0.1 % in 20 L from 5 %.
    assert mixture(1000, 20, 5) == Mixture(20, 400, 19.6, (1, 49))


def test_powder_is_weighed() -> None:
    # CDC, Best Practices ..., Appendix E: 35 % powder to 0.5 % takes 14.3 g a litre.
    made = mixture(5000, 10, 35, powder=True)
    assert (made.product, made.parts, made.powder) == (143, None, True)


def test_as_it_comes() -> None:
    made = mixture(700_000, 2, 70, ready=True)
    assert (made.product, made.water, made.as_it_comes) == (2000, 0, True)


@pytest.mark.parametrize(
    ("numbers", "sentence"),
    [
        ((60_000, 20, 5), "Water only makes it weaker"),
        ((5000, 0, 5), "Volume in litres: give a number above zero, not 0"),
        ((5000, -3, 5), "Volume in litres: give a number above zero, not -3"),
        ((5000, 20, 50_000), "Is that figure in ppm"),
        ((5000, 20, 0), "Strength of the product in %: give a number above zero"),
    ],
)
def test_what_cannot_be_mixed(numbers: tuple[float, float, float], sentence: str) -> None:
    with pytest.raises(BadNumber, match=sentence):
        mixture(*numbers)


@pytest.mark.parametrize(
    ("strength", "sentence"),
    [(60, "Water only makes it weaker"), (96, "take a product of 70 %, not of 96 %")],
)
def test_a_ready_product_of_another_strength(strength: float, sentence: str) -> None:
    with pytest.raises(BadNumber, match=sentence):
        mixture(700_000, 2, strength, ready=True)


@pytest.mark.parametrize(("exact", "measured"), [(2.01, 2.1), (2.0, 2.0), (142.857, 143), (400.0000001, 400)])
def test_what_can_be_measured(exact: float, measured: float) -> None:
    assert measurable(exact) == measured
