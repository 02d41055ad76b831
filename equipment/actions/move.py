"""An item goes from one store to another."""

from equipment.actions.writing import Pen
from equipment.ledger import Outcome
from equipment.models import ItemState


def move(pen: Pen, state: ItemState, to: str, note: str = "") -> Outcome:
    """Move the item to the store with the code `to`."""
    draft = pen.draft("moved", item=state.item_id, crew=state.crew_id, detail={"to": to}, note=note)
    return pen.record([draft]).outcomes[0]
