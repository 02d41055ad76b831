"""What each verb does to the state it finds, a line a case; `tests/domain/test_verbs.py` goes through them."""

from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

from equipment.domain.values import ItemState, Stint

NOW = datetime(2026, 6, 1, 4, 0, tzinfo=UTC)
BEFORE = NOW - timedelta(hours=1)
EARLIER = NOW - timedelta(hours=9)
OWN = UUID(int=9)
"""The entry of the case itself."""


@dataclass(frozen=True)
class Case:
    """`changes` are those of the state besides what the codes of `contradicts` add; all else stays as it was."""

    verb: str
    before: Any
    changes: dict[str, Any]
    contradicts: tuple[str, ...] = ()
    entry: dict[str, Any] = field(default_factory=dict)


def of(verb: str, before: Any, changes: dict[str, Any], *contradicts: str, **entry: Any) -> Case:
    return Case(verb, before, changes, contradicts, entry)


SAME: dict[str, Any] = {}
IN_STORE = ItemState(
    place="store", store="A", since=BEFORE, tag="BG1", kind="bag", registered=True, registered_at=EARLIER
)
WITH_ANA = replace(IN_STORE, place="picker", picker=1, crew="RED", stints=(Stint(1, "RED", BEFORE),))
WITH_RED = replace(IN_STORE, place="crew", crew="RED")
GONE = replace(IN_STORE, place="gone")
LET_GO = {"stints": (Stint(1, "RED", BEFORE, NOW),)}
"""Ana has it no longer."""
