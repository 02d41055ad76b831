"""A crew stops picking: a break, rain, heat. The visit ends; picking on begins another, by `arrived`."""

from collections.abc import Mapping
from typing import Literal

from equipment.domain.values import CrewState, Entry
from equipment.domain.verbs._base import Detail, Verb
from equipment.domain.visits import end
from equipment.domain.words import gettext_noop

CAUSES: Mapping[str, str] = {
    "break": gettext_noop("a break"),
    "rain": gettext_noop("rain"),
    "heat": gettext_noop("heat"),
    "wind": gettext_noop("wind"),
    "wet_fruit": gettext_noop("wet fruit"),
    "transport": gettext_noop("no trailer or bin"),
    "other": gettext_noop("another cause"),
}


class Stopped(Detail):
    cause: Literal["break", "rain", "heat", "wind", "wet_fruit", "transport", "other"]


def step(state: CrewState, entry: Entry) -> CrewState:
    return end(state, entry.happened_at, entry.detail["cause"])


VERB = Verb(
    name="stopped",
    family="crew",
    detail=Stopped,
    step=step,
    action="visit",
    say=gettext_noop("%(crew)s has stopped."),
    told=gettext_noop("Stopped picking: %(cause)s."),
)
