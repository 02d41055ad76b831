"""Counted goods of a lot are thrown away: expired, damaged, or not to be trusted any more; the why is the note."""

from equipment.domain.values import Entry, LotState
from equipment.domain.verbs._base import Detail, Quantity, Verb, taken
from equipment.domain.words import gettext_noop


class Discarded(Detail):
    quantity: Quantity


def step(state: LotState, entry: Entry) -> LotState:
    return taken(state, entry)


VERB = Verb(
    name="discarded",
    family="lot",
    detail=Discarded,
    step=step,
    action="count_goods",
    say=gettext_noop("Thrown away."),
    told=gettext_noop("Thrown away: %(quantity)s."),
)
