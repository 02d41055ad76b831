"""A dip bath is emptied, where its label and local law allow."""

from typing import Annotated

from pydantic import Field

from equipment.domain.replacing import replace
from equipment.domain.values import BathState, Entry
from equipment.domain.verbs._base import Detail, Verb
from equipment.domain.words import gettext_noop

# Where the pages offer to empty one; whatever else somebody writes stands as it is.
PLACES = {
    "sewer": gettext_noop("a toilet or drain to a septic tank or sewer"),
    "label": gettext_noop("where its label says"),
    "collected": gettext_noop("a closed drum, to be taken away"),
}


class Emptied(Detail):
    where: Annotated[str, Field(min_length=1)]


def step(state: BathState, entry: Entry) -> BathState:
    return replace(state, emptied_at=min(state.emptied_at or entry.happened_at, entry.happened_at))


VERB = Verb(
    name="emptied",
    family="bath",
    detail=Emptied,
    step=step,
    action="empty_bath",
    say=gettext_noop("The bath is emptied."),
    told=gettext_noop("Bath emptied: %(where)s."),
)
