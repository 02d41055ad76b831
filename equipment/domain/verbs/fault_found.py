"""Something is wrong with an item. Dirty and wet are no faults to mend: they make washing or drying due at once."""

from typing import Annotated

from pydantic import Field

from equipment.domain import faults
from equipment.domain.values import Entry, ItemState
from equipment.domain.verbs._base import Detail, Verb
from equipment.domain.words import gettext_noop


class FaultFound(Detail):
    """`fault` is a fault type of the item's kind, `photo` the SHA-256 of a picture that comes (or came) by itself."""

    fault: str
    photo: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")] | None = None


def step(state: ItemState, entry: Entry) -> ItemState:
    if state.place == "gone":
        return state.contradicted("written_off", entry.id)
    return faults.found(state, entry.detail["fault"], entry.id, entry.happened_at)


VERB = Verb(
    name="fault_found",
    family="item",
    detail=FaultFound,
    step=step,
    action="report_fault",
    say=gettext_noop("%(tag)s: the fault is written down."),
    told=gettext_noop("Fault found: %(fault)s."),
)
