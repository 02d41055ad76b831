"""A picker joins a crew."""

from equipment.domain.replacing import replace
from equipment.domain.values import CrewState, Entry
from equipment.domain.verbs._base import Verb
from equipment.domain.words import gettext_noop


def step(state: CrewState, entry: Entry) -> CrewState:
    if entry.picker is None or entry.picker in state.members:
        return state
    return replace(state, members={**state.members, entry.picker: entry.happened_at})


VERB = Verb(
    name="joined",
    family="crew",
    step=step,
    action="change_crew",
    say=gettext_noop("Joined %(crew)s."),
    told=gettext_noop("%(who)s joined %(crew)s."),
    needs=("picker",),
)
