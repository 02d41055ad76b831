"""A picker leaves a crew, for another one or for good."""

from equipment.domain.replacing import replace
from equipment.domain.values import CrewState, Entry
from equipment.domain.verbs._base import Verb
from equipment.domain.words import gettext_noop


def step(state: CrewState, entry: Entry) -> CrewState:
    if entry.picker not in state.members:
        return state.contradicted("not_in_crew", entry.id)
    return replace(state, members={who: at for who, at in state.members.items() if who != entry.picker})


VERB = Verb(
    name="parted",
    family="crew",
    step=step,
    action="change_crew",
    say=gettext_noop("Left %(crew)s."),
    told=gettext_noop("%(who)s left %(crew)s."),
    needs=("picker",),
)
