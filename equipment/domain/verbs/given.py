"""Counted goods of a lot are given to a crew."""

from equipment.domain.values import Entry, LotState
from equipment.domain.verbs._base import Detail, Quantity, Verb, taken
from equipment.domain.words import gettext_noop


class Given(Detail):
    quantity: Quantity


def step(state: LotState, entry: Entry) -> LotState:
    return taken(state, entry)


VERB = Verb(
    name="given",
    family="lot",
    detail=Given,
    step=step,
    action="give_goods",
    say=gettext_noop("Given to %(crew)s."),
    told=gettext_noop("Given to %(crew)s: %(quantity)s."),
    needs=("crew",),
)
