"""A missing item turns up."""

from equipment.actions.writing import Pen
from equipment.ledger import Outcome
from equipment.models import ItemState


def find(pen: Pen, state: ItemState, crew: str | None = None, note: str = "") -> Outcome:
    """Mark the item found: with `crew`, or in the store whose book the pen writes."""
    draft = pen.draft("found", item=state.item_id, crew=crew, note=note)
    return pen.record([draft]).outcomes[0]
