"""An item is not where it should be."""

from equipment.actions.writing import Pen
from equipment.ledger import Outcome
from equipment.models import ItemState


def miss(pen: Pen, state: ItemState, note: str = "") -> Outcome:
    """Mark the item missing; who had it last stays known."""
    draft = pen.draft("missed", item=state.item_id, crew=state.crew_id, note=note)
    return pen.record([draft]).outcomes[0]
