"""A person closes a discrepancy; it stays closed whatever arrives later."""

from equipment.domain.replacing import replace
from equipment.domain.values import Entry, State
from equipment.domain.verbs._base import Detail, Verb
from equipment.domain.words import gettext_noop


class Settled(Detail):
    key: str
    choice: str


def step(state: State, entry: Entry) -> State:
    return replace(state, settled=state.settled | {entry.detail["key"]})


VERB = Verb(
    name="settled",
    family="any",
    detail=Settled,
    step=step,
    action="settle",
    say=gettext_noop("Settled."),
    told=gettext_noop("Settled."),
    told_with={"what": gettext_noop("Settled: %(what)s")},
)
