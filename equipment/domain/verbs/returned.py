"""An item comes back to a store, which from then on is the item's own store."""

from equipment.domain import faults
from equipment.domain.values import Entry, ItemState
from equipment.domain.verbs._base import Detail, Verb, placed
from equipment.domain.words import gettext_noop


class Returned(Detail):
    wet: bool = False


def step(state: ItemState, entry: Entry) -> ItemState:
    if state.place == "gone":
        return state.contradicted("written_off", entry.id)
    if not state.out and state.place != "missing":
        state = state.contradicted("not_out", entry.id)
    state = placed(state, entry.happened_at, place="store", store=entry.store)
    return faults.found(state, faults.WET, entry.id, entry.happened_at) if entry.detail.get("wet") else state


VERB = Verb(
    name="returned",
    family="item",
    detail=Returned,
    step=step,
    action="take_back",
    say=gettext_noop("%(tag)s is back."),
    told=gettext_noop("Came back to %(store)s."),
    told_with={"wet": gettext_noop("Came back to %(store)s, wet.")},
)
