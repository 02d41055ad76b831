"""An item comes back and is taken in by hand, without a scan: the label is unreadable, or somebody else brought it."""

from equipment.actions.writing import Pen
from equipment.ledger import Outcome
from equipment.models import ItemState


def take_back(pen: Pen, state: ItemState, wet: bool = False, note: str = "") -> Outcome:
    """Take the item back into the store whose book the pen writes."""
    detail = {"wet": True} if wet else {}
    draft = pen.draft("returned", item=state.item_id, crew=state.crew_id, detail=detail, note=note)
    return pen.record([draft]).outcomes[0]
