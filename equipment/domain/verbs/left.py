"""A crew leaves its block: the visit ends. Leaving where nobody is changes nothing."""

from equipment.domain.values import CrewState, Entry
from equipment.domain.verbs._base import Verb
from equipment.domain.visits import end
from equipment.domain.words import gettext_noop


def step(state: CrewState, entry: Entry) -> CrewState:
    return end(state, entry.happened_at, "left")


VERB = Verb(
    name="left",
    family="crew",
    step=step,
    action="visit",
    say=gettext_noop("%(crew)s has left the block."),
    told=gettext_noop("Left the block."),
)
