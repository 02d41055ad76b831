"""How much product makes a disinfectant of the strength wanted.

Strengths are parts by weight in volume: 1 % is 10 g in a litre, which is 10 000 ppm (mg per litre) at density 1. A
recipe says whether its strength means sodium hypochlorite or available chlorine: the two differ by about a twentieth.

These are sums only. The label and the safety sheet come first, and local law; wear gloves and goggles, have air; pour
bleach into water, never water into bleach; never mix it with acid (vinegar included) or ammonia.
"""

from equipment.domain.given import BadNumber, above_zero, per_cent
from equipment.domain.words import gettext_noop

PPM_IN_ONE_PER_CENT = 10_000
# A product used as it is must not look too weak by the last digit of a converted figure.
ROUNDING = 1 + 1e-9

STRENGTH = gettext_noop("Strength of the product in %")
AVAILABLE = gettext_noop("What the powder holds in %")
WANTED_PCT = gettext_noop("Strength wanted in %")
WANTED_PPM = gettext_noop("Strength wanted in ppm")
VOLUME = gettext_noop("Volume in litres")


def parts_of_water(strength_pct: float, wanted_pct: float) -> float:
    """Parts of water to add to one part of product: strength / wanted - 1, zero where the product is used as it is.

    Both strengths in per cent, above 0 and up to 100. Source: CDC, Best Practices for Environmental Cleaning in
    Global Healthcare Facilities, Appendix E. Raises ValueError where a number cannot be, or where the target is
    stronger than the product.
    """
    strength, wanted = per_cent(STRENGTH, strength_pct), per_cent(WANTED_PCT, wanted_pct)
    _not_stronger(wanted, strength)
    return max(0.0, strength / wanted - 1)


def product_ml(wanted_ppm: float, volume_l: float, strength_pct: float) -> float:
    """Millilitres of product which, made up with water *to* `volume_l` litres, give `wanted_ppm` mg per litre.

    Made up to the volume, not added to it: 400 mL of 5 % is 2 % made up to a litre, 1.4 % added to one. The product's
    strength in per cent, above 0 and up to 100; the other two above 0. Source: the definition of ppm, and CDC's
    instructions for chlorine solutions of 9 February 2021. Raises ValueError as `parts_of_water` does.
    """
    wanted, volume = above_zero(WANTED_PPM, wanted_ppm), above_zero(VOLUME, volume_l)
    strength = per_cent(STRENGTH, strength_pct)
    _not_stronger(wanted / PPM_IN_ONE_PER_CENT, strength)
    return wanted * volume * 1000 / (strength * PPM_IN_ONE_PER_CENT)


def powder_g(wanted_pct: float, volume_l: float, available_pct: float) -> float:
    """Grams of powder for `volume_l` litres of `wanted_pct`: wanted / available x 1000 a litre.

    `available_pct` is the share of the powder that works (for chlorine its available chlorine), above 0 and up to 100
    per cent, like the strength wanted; the volume above 0. Source: as `parts_of_water`. Raises ValueError as it does.
    """
    wanted, volume = per_cent(WANTED_PCT, wanted_pct), above_zero(VOLUME, volume_l)
    available = per_cent(AVAILABLE, available_pct)
    _not_stronger(wanted, available)
    return wanted / available * 1000 * volume


def _not_stronger(wanted_pct: float, strength_pct: float) -> None:
    if wanted_pct > strength_pct * ROUNDING:
        raise BadNumber(
            gettext_noop(
                "Water only makes it weaker: a product of %(strength)s %% cannot give %(wanted)s %%. "
                "Check both figures (per cent, or ppm?), or take a stronger product."
            ),
            strength=f"{strength_pct:g}",
            wanted=f"{wanted_pct:g}",
        )
