"""An old item wears a new label; the old code still finds it."""

from equipment.domain.replacing import replace
from equipment.domain.values import Entry, ItemState
from equipment.domain.verbs._base import Detail, Verb
from equipment.domain.words import gettext_noop


class Retagged(Detail):
    tag: str


def step(state: ItemState, entry: Entry) -> ItemState:
    return replace(state, tag=entry.detail["tag"])


VERB = Verb(
    name="retagged",
    family="item",
    detail=Retagged,
    step=step,
    action="retag",
    say=gettext_noop("The new label %(tag)s is in force; the old code still finds the item."),
    told=gettext_noop("Given the label %(tag)s."),
)
