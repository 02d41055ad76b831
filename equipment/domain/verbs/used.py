"""Counted goods of a lot are used up: in a mend or in a dip bath, whose entry shares the act, or otherwise."""

from typing import Literal

from equipment.domain.values import Entry, LotState
from equipment.domain.verbs._base import Detail, Quantity, Verb, taken
from equipment.domain.words import gettext_noop

PURPOSES = {
    "mend": gettext_noop("in a mend"),
    "bath": gettext_noop("in a dip bath"),
    "other": gettext_noop("otherwise"),
}


class Used(Detail):
    quantity: Quantity
    purpose: Literal["mend", "bath", "other"] = "other"


def step(state: LotState, entry: Entry) -> LotState:
    return taken(state, entry)


VERB = Verb(
    name="used",
    family="lot",
    detail=Used,
    step=step,
    action="use_goods",
    say=gettext_noop("Used."),
    told=gettext_noop("Used %(purpose)s: %(quantity)s."),
)
