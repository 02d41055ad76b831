"""A line of a picker's kit is waived for the day, with a why in the entry's note: two who share, a kind that ran out.

A verb of its own because the line that is waived has, by its nature, no item whose hand-out could carry it.
"""

from datetime import timedelta

from equipment.domain.replacing import replace
from equipment.domain.values import CrewState, Entry
from equipment.domain.verbs._base import Detail, Verb
from equipment.domain.words import gettext_noop

# A waiver counts for the farm's day it was given on; older ones need not be carried along.
KEPT = timedelta(hours=48)


class Waived(Detail):
    kind: str


def step(state: CrewState, entry: Entry) -> CrewState:
    if entry.picker is None:
        return state
    recent = (line for line in state.waived if entry.happened_at - line[2] < KEPT)
    return replace(state, waived=(*recent, (entry.picker, entry.detail["kind"], entry.happened_at)))


VERB = Verb(
    name="waived",
    family="crew",
    detail=Waived,
    step=step,
    action="waive",
    say=gettext_noop("Waived for today."),
    told=gettext_noop("%(who)s does without: %(kind)s."),
    needs=("picker",),
)
