"""A crew's time in its blocks."""

from datetime import datetime, timedelta

from equipment.domain.replacing import replace
from equipment.domain.values import CrewState

MOVED = "moved"
# Crews go home at night, and not every supervisor says so: next day's arrival ends no visit of the day before.
LONGEST_UNTOLD = timedelta(hours=12)


def is_open(state: CrewState, at: datetime) -> bool:
    """Whether the last visit still goes on at `at`, as far as anybody told."""
    return bool(state.visits) and state.visits[-1].until is None and at < state.visits[-1].at + LONGEST_UNTOLD


def end(state: CrewState, at: datetime, cause: str) -> CrewState:
    """The open visit, if there is one, ends at `at`, never before it began. One that only the next arrival ends lasted
    no longer than a day's work."""
    if not state.visits or state.visits[-1].until is not None:
        return state
    last = state.visits[-1]
    if cause == MOVED:
        at = min(at, last.at + LONGEST_UNTOLD)
    return replace(state, visits=(*state.visits[:-1], replace(last, until=max(at, last.at), cause=cause)))
