"""A fault is found on an item: by its page, its label, or at the counter."""

from equipment.actions import sensible
from equipment.actions.writing import Pen
from equipment.ledger import Outcome
from equipment.models import ItemState


def report_fault(pen: Pen, state: ItemState, fault: str, photo: str | None = None, note: str = "") -> Outcome:
    """`photo` is the SHA-256 of a kept picture. Raises sensible.Senseless for a fault of another kind of gear."""
    detail = {"fault": fault, **({"photo": photo} if photo else {})}
    sensible.check("fault_found", detail, state.item.kind_id)
    draft = pen.draft("fault_found", item=state.item_id, crew=state.crew_id, detail=detail, note=note)
    return pen.record([draft]).outcomes[0]
