"""A picker was trained: one entry for each who was there, those of one lesson in one act. It changes nothing."""

from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import Field

from equipment.domain.values import CrewState, Entry
from equipment.domain.verbs._base import Detail, Verb
from equipment.domain.words import gettext_noop

TOPICS: Mapping[str, str] = {
    "ladder": gettext_noop("Ladders: setting up, climbing, carrying"),
    "bath": gettext_noop("The dip bath: mixing, dipping, emptying"),
    "clippers": gettext_noop("Clippers: cutting, sharpening, keeping clean"),
    "first_aid": gettext_noop("First aid: cuts, eyes, falls"),
    "other": gettext_noop("Another lesson"),
}
OUTSIDE = 0


class Trained(Detail):
    """`trainer` is the number of the user who gave the lesson where that is not who wrote it down; OUTSIDE for somebody
    else, whom the note names: no name stands in the chain. `minutes` is how long it took."""

    topic: Literal["ladder", "bath", "clippers", "first_aid", "other"]
    trainer: Annotated[int, Field(ge=0, le=2**31 - 1)] | None = None
    minutes: Annotated[int, Field(ge=1, le=1_440)] | None = None


def step(state: CrewState, entry: Entry) -> CrewState:
    return state


VERB = Verb(
    name="trained",
    family="crew",
    detail=Trained,
    step=step,
    action="train",
    say=gettext_noop("The lesson is written down."),
    told=gettext_noop("%(who)s was trained: %(topic)s."),
    needs=("picker",),
)
