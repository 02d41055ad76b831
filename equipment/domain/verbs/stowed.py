"""Gear stays in the orchard overnight, locked away or counted by someone."""

from pydantic import Field

from equipment.domain.replacing import replace
from equipment.domain.stints import let_go
from equipment.domain.values import Entry, ItemState
from equipment.domain.verbs._base import Detail, Verb
from equipment.domain.words import gettext_noop


class Stowed(Detail):
    """`counted` is how many pieces of this kind were counted there; `locked_by` who holds the key."""

    block: str
    locked_by: str = ""
    counted: int = Field(ge=0, le=100_000)


def step(state: ItemState, entry: Entry) -> ItemState:
    if state.place == "gone":
        return state.contradicted("written_off", entry.id)
    if not state.out and state.place != "missing":
        state = state.contradicted("not_out", entry.id)
    return replace(
        let_go(state, entry.happened_at),
        place="orchard",
        crew=entry.crew or state.crew,
        block=entry.block,
        since=entry.happened_at,
    )


VERB = Verb(
    name="stowed",
    family="item",
    detail=Stowed,
    step=step,
    action="stow",
    say=gettext_noop("%(tag)s stays in the orchard."),
    told=gettext_noop("Left in the orchard overnight, in block %(block)s; %(counted)s counted."),
    told_with={
        "locked_by": gettext_noop(
            "Left in the orchard overnight, in block %(block)s; %(counted)s counted, locked by %(locked_by)s."
        )
    },
    needs=("block",),
)
