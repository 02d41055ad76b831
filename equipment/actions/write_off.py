"""An item leaves the book's care for good."""

from equipment.actions.hear import heard
from equipment.actions.writing import Pen, new_id
from equipment.ledger import Outcome
from equipment.models import ItemState


def write_off(
    pen: Pen, state: ItemState, circumstance: str, note: str, *, case: str = "", said: str = ""
) -> Outcome:
    """Write the item off; `circumstance` is one of `written_off.CIRCUMSTANCES`, `note` says what happened, `case` is
    the number under which a theft was reported.

    `said` is what the picker who had it last says; it goes before the write-off, in the same act. ValueError where no
    picker had it.
    """
    act = new_id() if said else None
    detail = {"circumstance": circumstance, **({"case": case} if case else {})}
    drafts = [heard(pen, state, said, act)] if said else []
    drafts.append(
        pen.draft("written_off", item=state.item_id, crew=state.crew_id, act=act, detail=detail, note=note)
    )
    return pen.record(drafts).outcomes[-1]
