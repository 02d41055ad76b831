"""An item goes from one store to another."""

from equipment.domain.values import Entry, ItemState
from equipment.domain.verbs._base import Detail, Verb, placed
from equipment.domain.words import gettext_noop


class Moved(Detail):
    to: str


def step(state: ItemState, entry: Entry) -> ItemState:
    if state.place == "gone":
        return state.contradicted("written_off", entry.id)
    if state.out:
        state = state.contradicted("already_out", entry.id)
    return placed(state, entry.happened_at, place="store", store=entry.detail["to"])


VERB = Verb(
    name="moved",
    family="item",
    detail=Moved,
    step=step,
    action="move",
    say=gettext_noop("%(tag)s is moved."),
    told=gettext_noop("Moved to %(to)s."),
)
