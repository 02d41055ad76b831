"""A dip bath comes out at the strength asked for, and what cannot be mixed is refused in plain words."""

from collections.abc import Callable

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from equipment.domain.dilution import parts_of_water, powder_g, product_ml

percents = st.floats(0.01, 100)
litres = st.floats(0.1, 2000)


@pytest.mark.parametrize(
    ("strength", "wanted", "parts"),
    [
        # CDC, Best Practices for Environmental Cleaning in Global Healthcare Facilities, Appendix E.
        (3.5, 0.5, 6),
        (5, 0.1, 49),
        # Roistacher, Calavan & Blue 1969: 20 % bleach, about 1 %, against exocortis; and 1 + 9 parts is half of that.
        (5, 1, 4),
        (5, 0.5, 9),
        # Used as it is.
        (5, 5, 0),
    ],
)
def test_parts_of_water(strength: float, wanted: float, parts: float) -> None:
    assert parts_of_water(strength, wanted) == pytest.approx(parts)


@pytest.mark.parametrize(
    ("strength", "ppm"),
    [(5, 199), (5.25, 209)],  # "1 part household bleach to 250 parts water", computed
)
def test_a_bare_ratio_hides_the_strength_of_the_product(strength: float, ppm: float) -> None:
    assert parts_of_water(strength, ppm / 10_000) == pytest.approx(250, abs=0.5)


def test_powder() -> None:
    # CDC, the same Appendix E: 35 % powder to 0.5 % takes 14.3 g a litre.
    assert powder_g(0.5, 1, 35) == pytest.approx(14.3, abs=0.05)
    assert powder_g(0.5, 20, 35) == pytest.approx(285.7, abs=0.05)


@pytest.mark.parametrize(
    ("ppm", "volume", "strength", "millilitres"),
    [
        # CDC, chlorine solution for non-healthcare settings, 9 February 2021: 0.1 % in 20 L from 5 %.
        (1000, 20, 5, 400),
        # Made up to a litre, 400 mL of 5 % are 2 % (computed); added to a litre they would be 1.43 %.
        (20_000, 1, 5, 400),
        # US 7 CFR 301.75-11 asks for 200 ppm against citrus canker; 100 L from 5 % (computed).
        (200, 100, 5, 400),
    ],
)
def test_product(ppm: float, volume: float, strength: float, millilitres: float) -> None:
    assert product_ml(ppm, volume, strength) == pytest.approx(millilitres)


@given(percents, percents, litres)
def test_the_three_agree_and_give_back_the_strength(strength: float, wanted: float, volume: float) -> None:
    assume(wanted <= strength)
    product = product_ml(wanted * 10_000, volume, strength) / 1000
    assert product * strength / volume == pytest.approx(wanted)
    assert volume / product == pytest.approx(1 + parts_of_water(strength, wanted))
    assert powder_g(wanted, volume, strength) == pytest.approx(product * 1000)
    assert product <= volume * (1 + 1e-12)


BAD = [0, -1, float("nan"), float("inf"), "0,5", None]


@pytest.mark.parametrize("bad", BAD)
@pytest.mark.parametrize(
    "call",
    [
        lambda bad: parts_of_water(bad, 0.5),
        lambda bad: parts_of_water(5, bad),
        lambda bad: product_ml(bad, 20, 5),
        lambda bad: product_ml(1000, bad, 5),
        lambda bad: product_ml(1000, 20, bad),
        lambda bad: powder_g(bad, 1, 35),
        lambda bad: powder_g(0.5, bad, 35),
        lambda bad: powder_g(0.5, 1, bad),
    ],
)
def test_numbers_that_cannot_be(call: Callable[[object], float], bad: object) -> None:
    with pytest.raises(ValueError, match=r": (give a number above zero|“.*” is not a number)"):
        call(bad)


@pytest.mark.parametrize(
    "call",
    [
        lambda: parts_of_water(0.5, 5),
        lambda: product_ml(60_000, 20, 5),
        lambda: powder_g(50, 1, 35),
    ],
)
def test_a_target_stronger_than_the_product(call: Callable[[], float]) -> None:
    with pytest.raises(ValueError, match=r"Water only makes it weaker: .* take a stronger product\."):
        call()


def test_ppm_written_where_per_cent_is_asked() -> None:
    with pytest.raises(ValueError, match=r"Strength wanted in %: .*in ppm"):
        parts_of_water(5, 200)
