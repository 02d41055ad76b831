"""Steps on an item's open faults: found, mended, let go. Whether a fault stops the use of the item the rules say."""

from datetime import datetime
from uuid import UUID

from equipment.domain.replacing import replace
from equipment.domain.values import Cleaning, ItemState, OpenFault

# No faults to mend: a cleaning ends them.
DIRTY, WET = "dirty", "wet"


def found(state: ItemState, fault: str, entry: UUID, at: datetime) -> ItemState:
    """One that is open already stays as it was first found, unless it was mended since."""
    if fault == DIRTY:
        return replace(ended(state, DIRTY, at), dirty_at=state.dirty_at or at)
    if fault == WET:
        return replace(ended(state, WET, at), wet_at=state.wet_at or at)
    known = named(state, fault)
    if known is not None and known.mended_at is None:
        return state
    return replace(state, faults=(*_without(state, fault), OpenFault(fault, entry, at)))


def mended(state: ItemState, fault: str, by: int | None, at: datetime, release: str) -> ItemState:
    """Done with, or waiting for `release`; the fault must be open."""
    rest = _without(state, fault)
    if not release:
        return replace(state, faults=rest)
    known = named(state, fault)
    waiting = (replace(known, mended_at=at, mended_by=by, release=release),) if known else ()
    return replace(state, faults=(*rest, *waiting))


def released(state: ItemState, fault: str) -> ItemState:
    return replace(state, faults=_without(state, fault))


def named(state: ItemState, fault: str) -> OpenFault | None:
    return next((known for known in state.faults if known.fault == fault), None)


def ended(state: ItemState, cause: str, at: datetime) -> ItemState:
    """Every cleaning so far holds no longer, because of `cause` (dirty, wet, flag)."""
    return replace(state, cleanings=tuple(_ended(cleaning, cause, at) for cleaning in state.cleanings))


def _ended(cleaning: Cleaning, cause: str, at: datetime) -> Cleaning:
    if any(known == cause for known, _ in cleaning.ends):
        return cleaning
    return replace(cleaning, ends=(*cleaning.ends, (cause, at)))


def _without(state: ItemState, fault: str) -> tuple[OpenFault, ...]:
    return tuple(known for known in state.faults if known.fault != fault)
