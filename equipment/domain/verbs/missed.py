"""An item is not where it should be. Its last holder stays known."""

from equipment.domain.replacing import replace
from equipment.domain.stints import let_go
from equipment.domain.values import Entry, ItemState
from equipment.domain.verbs._base import Verb
from equipment.domain.words import gettext_noop


def step(state: ItemState, entry: Entry) -> ItemState:
    if state.place == "gone":
        return state.contradicted("written_off", entry.id)
    if state.place == "missing":
        return state
    return replace(let_go(state, entry.happened_at), place="missing", since=entry.happened_at, set=None)


VERB = Verb(
    name="missed",
    family="item",
    step=step,
    action="miss",
    say=gettext_noop("%(tag)s is marked missing."),
    told=gettext_noop("Marked missing."),
)
