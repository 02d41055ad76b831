"""A fault is mended; somebody else, where the rules ask for it, looks at the mend and passes the item."""

from dataclasses import dataclass
from typing import Literal

from crews import policy
from crews.models import User
from equipment.actions import sensible
from equipment.actions.goods import Using, with_lot
from equipment.actions.writing import Pen
from equipment.domain.values import OpenFault
from equipment.ledger import Outcome
from equipment.models import ItemState


@dataclass(frozen=True, slots=True)
class Mend:
    """How a fault was mended: the method in a few words, the minutes it took, the parts, and where."""

    fault: str
    method: str
    minutes: int
    parts: str = ""
    where: Literal["shed", "orchard"] = "shed"


def mend(pen: Pen, state: ItemState, how: Mend, note: str = "", using: Using | None = None) -> Outcome:
    """`using` is what it used up of a lot, in the same act. Raises sensible.Senseless for a fault of another kind of
    gear."""
    detail = {
        "fault": how.fault,
        "method": how.method,
        "minutes": how.minutes,
        "parts": how.parts,
        "where": how.where,
    }
    sensible.check("mended", detail, state.item.kind_id)
    draft = pen.draft("mended", item=state.item_id, crew=state.crew_id, detail=detail, note=note)
    return with_lot(pen, draft, using)


def release(pen: Pen, state: ItemState, fault: str, note: str = "") -> Outcome:
    """Pass the item after its mend. Raises sensible.Senseless as `mend`; the ledger refuses the mender's own word."""
    sensible.check("released", {"fault": fault}, state.item.kind_id)
    draft = pen.draft("released", item=state.item_id, crew=state.crew_id, detail={"fault": fault}, note=note)
    return pen.record([draft]).outcomes[0]


def may_pass(by: User, fault: OpenFault) -> bool:
    """Whether this person is one who may pass the item after this mend; that their work grants passing at all is asked
    apart. The mender's own word is no second pair of eyes, whoever they are."""
    if fault.release == "officer":
        return bool(by.is_superuser or policy.OFFICER in by.roles)
    return fault.release != "second" or by.pk != fault.mended_by
