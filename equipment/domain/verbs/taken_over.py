"""Somebody takes a crew over for the day: the supervisor is ill, or two crews work together."""

from equipment.domain.replacing import replace
from equipment.domain.values import CrewState, Entry
from equipment.domain.verbs._base import Verb
from equipment.domain.words import gettext_noop


def step(state: CrewState, entry: Entry) -> CrewState:
    return replace(state, led_by=entry.by)


VERB = Verb(
    name="taken_over",
    family="crew",
    step=step,
    action="take_over",
    say=gettext_noop("%(crew)s is yours for today."),
    told=gettext_noop("Took the crew over."),
)
