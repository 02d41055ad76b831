"""An item leaves the book's care for good."""

from equipment.actions.writing import Pen
from equipment.ledger import Outcome
from equipment.models import ItemState


def write_off(pen: Pen, state: ItemState, circumstance: str, note: str) -> Outcome:
    """Write the item off; `circumstance` is one of `written_off.CIRCUMSTANCES`, `note` says what happened."""
    detail = {"circumstance": circumstance}
    draft = pen.draft("written_off", item=state.item_id, crew=state.crew_id, detail=detail, note=note)
    return pen.record([draft]).outcomes[0]
