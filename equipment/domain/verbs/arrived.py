"""A crew comes into a block: a visit begins. One that is still open ends, unless they are there already."""

from equipment.domain.replacing import replace
from equipment.domain.values import CrewState, Entry, Visit
from equipment.domain.verbs._base import Detail, Verb
from equipment.domain.visits import end, is_open
from equipment.domain.words import gettext_noop


class Arrived(Detail):
    block: str


def step(state: CrewState, entry: Entry) -> CrewState:
    block, at = entry.block or entry.detail["block"], entry.happened_at
    if is_open(state, at) and state.visits[-1].block == block:
        return state
    ended = end(state, at, "moved")
    # A clock set back never lets a visit begin before the last one ended.
    over = ended.visits[-1].until if ended.visits else None
    return replace(ended, visits=(*ended.visits, Visit(entry.id, block, max(at, over or at))))


VERB = Verb(
    name="arrived",
    family="crew",
    detail=Arrived,
    step=step,
    action="visit",
    say=gettext_noop("%(crew)s is in the block."),
    told=gettext_noop("Came into block %(block)s."),
    needs=("block",),
)
