"""An item is packed into a set, or (`set` null) taken out of the one it was in."""

from equipment.domain.replacing import replace
from equipment.domain.values import Entry, ItemState
from equipment.domain.verbs._base import Detail, Verb
from equipment.domain.words import gettext_noop


class Packed(Detail):
    set: str | None


def step(state: ItemState, entry: Entry) -> ItemState:
    if state.out:
        state = state.contradicted("already_out", entry.id)
    elif state.place in ("missing", "gone"):
        state = state.contradicted("missing" if state.place == "missing" else "written_off", entry.id)
    return replace(state, set=entry.detail["set"])


VERB = Verb(
    name="packed",
    family="item",
    detail=Packed,
    step=step,
    action="pack",
    say=gettext_noop("%(tag)s is packed."),
    told=gettext_noop("Taken out of its set."),
    told_with={"set": gettext_noop("Packed into set %(set)s.")},
)
