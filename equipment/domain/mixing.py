"""How much product and water make a bath, as a person measures them out.

Sums only: the label and the safety sheet come first, and local law. Amounts are rounded up to what can be measured, so
that a bath is never mixed weaker than its recipe asks.
"""

import math
from dataclasses import dataclass

from equipment.domain import dilution
from equipment.domain.dilution import PPM_IN_ONE_PER_CENT
from equipment.domain.given import BadNumber, above_zero, per_cent
from equipment.domain.words import gettext_noop

MOST_PARTS = 20
# A measuring jug is read no finer; nearer than this two ratios are the same.
NEAR = 0.01
# Stronger than this times what the recipe asks for is another product than the one that it means.
SAME_PRODUCT = 1.1
OTHER_PRODUCT = gettext_noop(
    "This recipe is used as it comes, never diluted: take a product of %(wanted)s %%, not of %(strength)s %%."
)


@dataclass(frozen=True, slots=True)
class Mixture:
    """A bath of `litres`: `product` in mL (in grams where it is a `powder`) made up with water *to* `litres`, about
    `water` litres of it. `parts` are parts of product and of water, by volume; None for a powder. Used as it comes,
    there is no water: (1, 0)."""

    litres: float
    product: float
    water: float
    parts: tuple[int, int] | None
    powder: bool = False

    @property
    def as_it_comes(self) -> bool:
        return self.parts == (1, 0)


def mixture(
    wanted_ppm: float, litres: float, strength_pct: float, *, powder: bool = False, ready: bool = False
) -> Mixture:
    """`litres` of a bath of `wanted_ppm` mg per litre from a product of `strength_pct` per cent.

    `powder`: the product is weighed, and its strength is the share that works. `ready`: it is used as it comes. Raises
    BadNumber (a ValueError) where a number cannot be, or where the product cannot give the strength.
    """
    volume = above_zero(dilution.VOLUME, litres)
    wanted = wanted_ppm / PPM_IN_ONE_PER_CENT
    if powder:
        grams = dilution.powder_g(wanted, volume, strength_pct)
        return Mixture(volume, measurable(grams), volume, None, powder=True)
    parts = whole_parts(strength_pct, wanted)
    if ready:
        if per_cent(dilution.STRENGTH, strength_pct) > wanted * SAME_PRODUCT:
            raise BadNumber(OTHER_PRODUCT, wanted=f"{wanted:g}", strength=f"{strength_pct:g}")
        return Mixture(volume, volume * 1000, 0.0, (1, 0))
    product = measurable(dilution.product_ml(wanted_ppm, volume, strength_pct))
    return Mixture(volume, product, max(0.0, volume - product / 1000), parts)


def whole_parts(strength_pct: float, wanted_pct: float) -> tuple[int, int]:
    """Whole parts of product and of water, the fewest that come within a hundredth of the strength wanted, and never
    weaker. Raises BadNumber as `dilution.parts_of_water` does."""
    water = dilution.parts_of_water(strength_pct, wanted_pct)
    for product in range(1, MOST_PARTS):
        whole = math.floor(product * water + 1e-9)
        if (product * (water + 1)) / (product + whole) <= 1 + NEAR:
            return product, whole
    return MOST_PARTS, math.floor(MOST_PARTS * water + 1e-9)


def measurable(amount: float) -> float:
    """Rounded up: to whole mL or grams, below ten to tenths."""
    fine = 10 if amount < 10 else 1
    return math.ceil(round(amount * fine, 6)) / fine
