"""Who had the item, and when: the stints that the clocks count. A step of custody ends one and may begin another."""

from datetime import datetime

from equipment.domain.replacing import replace
from equipment.domain.values import Cleaning, ItemState, Stint

# More than two months of going out morning and afternoon between two washes: by then hours have long run out.
KEPT = 60


def let_go(state: ItemState, at: datetime) -> ItemState:
    """Nobody has the item from `at` on; a clock set back never ends a stint before it began."""
    if not state.stints or state.stints[-1].until is not None:
        return state
    last = state.stints[-1]
    return replace(state, stints=(*state.stints[:-1], replace(last, until=max(at, last.at))))


def taken_up(state: ItemState, picker: int, crew: str, at: datetime) -> ItemState:
    """`picker` of `crew` has the item from `at` on; two never have it at once, whatever their clocks say."""
    state = let_go(state, at)
    before = state.stints[-1].until if state.stints else None
    stints = (*state.stints, Stint(picker, crew, max(at, before or at)))[-KEPT:]
    return replace(state, stints=stints, cleanings=tuple(_used(c, picker, at) for c in state.cleanings))


def _used(cleaning: Cleaning, picker: int, at: datetime) -> Cleaning:
    if cleaning.picker is None:
        return replace(cleaning, picker=picker)
    if cleaning.picker == picker or cleaning.other_at is not None:
        return cleaning
    return replace(cleaning, other_at=at)
