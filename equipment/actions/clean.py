"""Items are sterilised, washed or dried, many in one act."""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from equipment.actions import sensible
from equipment.actions.writing import Pen, new_id
from equipment.ledger import Outcome
from equipment.models import ItemState


@dataclass(frozen=True, slots=True)
class Way:
    """How: `method` is sterilise, wash or dry; in `bath`, or by the `recipe` named; acting for `seconds`; every piece
    scanned, or told of as a whole crew."""

    method: str
    bath: UUID | None = None
    recipe: str | None = None
    seconds: int | None = None
    each_scanned: bool = True


def clean(pen: Pen, states: Sequence[ItemState], way: Way, note: str = "") -> list[Outcome]:
    """One outcome an item, in order; what does not count says why in its `codes`. An empty list for no items."""
    detail = {"method": way.method, "each_scanned": way.each_scanned}
    detail |= {"recipe": way.recipe} if way.recipe else {}
    detail |= {"seconds": way.seconds} if way.seconds is not None else {}
    for kind in {state.item.kind_id for state in states}:
        sensible.check("cleaned", detail, kind)
    act = new_id() if len(states) > 1 else None
    drafts = [
        pen.draft("cleaned", item=s.item_id, crew=s.crew_id, bath=way.bath, act=act, detail=detail, note=note)
        for s in states
    ]
    return pen.record(drafts).outcomes if drafts else []
