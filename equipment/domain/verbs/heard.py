"""The picker's side of what became of an item was heard: their words are the entry's note. It changes nothing."""

from equipment.domain.values import Entry, ItemState
from equipment.domain.verbs._base import Verb
from equipment.domain.words import gettext_noop


def step(state: ItemState, entry: Entry) -> ItemState:
    return state


VERB = Verb(
    name="heard",
    family="item",
    step=step,
    action="hear",
    say=gettext_noop("What was said is written down."),
    told=gettext_noop("What %(who)s says of it."),
    needs=("picker",),
)
