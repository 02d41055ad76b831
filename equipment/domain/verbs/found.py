"""A missing item turns up: with a crew where the entry names one, else in the store where it is recorded.

Finding what was not missing is no contradiction and changes nothing.
"""

from equipment.domain.replacing import replace
from equipment.domain.values import Entry, ItemState
from equipment.domain.verbs._base import Verb, placed
from equipment.domain.words import gettext_noop


def step(state: ItemState, entry: Entry) -> ItemState:
    if state.place == "gone":
        return state.contradicted("written_off", entry.id)
    if state.place != "missing":
        return state
    if entry.crew:
        return replace(placed(state, entry.happened_at, place="crew"), crew=entry.crew)
    return placed(state, entry.happened_at, place="store", store=entry.store)


VERB = Verb(
    name="found",
    family="item",
    step=step,
    action="find",
    say=gettext_noop("%(tag)s is found."),
    told=gettext_noop("Found, in %(store)s."),
    told_with={"crew": gettext_noop("Found, with %(who)s.")},
)
