"""The crew's plan is changed where it works: dry by now, so snapped where clipping was planned; another block.

`part` None: the whole day. `block` None: the block stays. The why is the entry's note. The office's plan stays as it
was made; what is shown is that plan with the crew's own changes on it, see `equipment.models.replanning`.
"""

from collections.abc import Mapping
from datetime import date
from typing import Literal

from equipment.domain.replacing import replace
from equipment.domain.values import CrewState, Entry, Replan
from equipment.domain.verbs._base import Detail, Verb
from equipment.domain.words import gettext_noop

WAYS: Mapping[bool, str] = {True: gettext_noop("clipped"), False: gettext_noop("snapped")}


class Replanned(Detail):
    date: date
    part: Literal["day", "morning", "afternoon"] | None = None
    clipped: bool
    block: str | None = None


def step(state: CrewState, entry: Entry) -> CrewState:
    detail = entry.detail
    plan = Replan(
        entry=entry.id,
        at=entry.happened_at,
        date=date.fromisoformat(detail["date"]),
        part=detail.get("part") or "day",
        clipped=detail["clipped"],
        block=entry.block or detail.get("block"),
    )
    return replace(state, replanned=(*state.replanned, plan))


VERB = Verb(
    name="replanned",
    family="crew",
    detail=Replanned,
    step=step,
    action="change_plan",
    say=gettext_noop("The plan of %(crew)s is changed."),
    told=gettext_noop("Changed the plan of %(when)s: %(how)s."),
    told_with={"block": gettext_noop("Changed the plan of %(when)s: block %(block)s, %(how)s.")},
)
