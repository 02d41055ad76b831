"""A dip bath is mixed, tested, emptied."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from equipment.actions import sensible
from equipment.actions.goods import Using, with_lot
from equipment.actions.writing import Pen, new_id
from equipment.ledger import Outcome


@dataclass(frozen=True, slots=True)
class Mixing:
    """`litres` of bath by `recipe` with `product_ml` of product (grams of a powder) of `strength_pct` per cent."""

    recipe: str
    litres: float
    product_ml: float
    strength_pct: float
    product_lot: str = ""
    product_expires: date | None = None
    ph: float | None = None


def mix(
    pen: Pen, mixing: Mixing, note: str = "", using: Using | None = None, own: UUID | None = None
) -> tuple[UUID, Outcome]:
    """A new bath; its number, `own` where that was made before. `using` is what it uses up of a lot, in the same act.
    Raises sensible.Senseless for a recipe that there is not."""
    detail: dict[str, Any] = {
        "recipe": mixing.recipe,
        "litres": mixing.litres,
        "product_ml": mixing.product_ml,
        "strength_pct": mixing.strength_pct,
        "product_lot": mixing.product_lot,
    }
    detail |= {"ph": mixing.ph} if mixing.ph is not None else {}
    detail |= {"product_expires": mixing.product_expires} if mixing.product_expires else {}
    sensible.check("mixed", detail, None)
    own = own or new_id()
    return own, with_lot(pen, pen.draft("mixed", bath=own, detail=detail, note=note), using)


def try_strength(
    pen: Pen,
    bath: UUID,
    ppm: float,
    diluted: float = 1.0,
    note: str = "",
    happened_at: datetime | None = None,
) -> Outcome:
    """`ppm` as read at `happened_at` (None: now), of a sample made `diluted` times weaker."""
    detail = {"ppm": ppm, "diluted": diluted}
    draft = pen.draft("tested", bath=bath, detail=detail, note=note, happened_at=happened_at)
    return pen.record([draft]).outcomes[0]


def empty(pen: Pen, bath: UUID, where: str, note: str = "") -> Outcome:
    return pen.record([pen.draft("emptied", bath=bath, detail={"where": where}, note=note)]).outcomes[0]
