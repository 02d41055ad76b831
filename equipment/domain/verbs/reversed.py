"""An entry is taken back. The fold leaves out what a `reversed` names, so the verb itself has no step of its own."""

from uuid import UUID

from equipment.domain.values import Entry, State
from equipment.domain.verbs._base import Detail, Verb
from equipment.domain.words import gettext_noop


class Reversed(Detail):
    entry: UUID


def step(state: State, entry: Entry) -> State:
    return state


VERB = Verb(
    name="reversed",
    family="any",
    detail=Reversed,
    step=step,
    action="reverse",
    say=gettext_noop("Undone."),
    told=gettext_noop("Took back a line."),
    told_with={"what": gettext_noop("Took back the line “%(what)s”")},
)
