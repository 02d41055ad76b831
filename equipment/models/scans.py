"""What every scan asks of the database, as SQL: to have the ORM write these questions anew at each scan would cost as
much as all else that a scan does. They are the same on both databases, but for the lock, which SQLite has no need of.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

from django.db import connection

ITEMS = """
SELECT state.item_id, label.code, state.crew_id, state.fold, item.kind_id, item.size, item.hand, kind.hands
FROM equipment_label label
JOIN equipment_item item ON item.id = label.item_id
JOIN equipment_kind kind ON kind.code = item.kind_id
JOIN equipment_itemstate state ON state.item_id = item.id
WHERE label.code IN ({codes})
ORDER BY state.item_id
"""
LOANS = """
SELECT loan.badge_id, loan.picker_id, loan.from_day, loan.to_day, badge.died_on,
       picker.hand, picker.glove_size, picker.boot_size, picker.overall_size, member.crew_id, member.since
FROM crews_badgeloan loan
JOIN crews_badge badge ON badge.code = loan.badge_id
JOIN crews_picker picker ON picker.id = loan.picker_id
LEFT JOIN equipment_membership member ON member.picker_id = loan.picker_id
WHERE loan.badge_id IN ({codes})
ORDER BY loan.from_day DESC, loan.id DESC, member.since DESC, member.crew_id DESC
"""


@dataclass(frozen=True, slots=True)
class ScannedItem:
    """An item as the tag scanned, old or new, finds it. `of_a_hand`: its kind is made for the left or the right one."""

    item_id: UUID
    tag: str
    crew_id: str | None
    fold: dict[str, Any]
    kind_id: str
    size: str
    hand: str
    of_a_hand: bool

    @property
    def traits(self) -> dict[str, str]:
        return {"size": self.size, "hand": self.hand}


@dataclass(frozen=True, slots=True)
class ScannedLoan:
    """A card lent to a picker, from a day to a day, both included; `crew` is the one they joined last, of those they
    are in, and `crew_since` when."""

    badge_id: str
    picker_id: int
    from_day: date
    to_day: date | None
    died_on: date | None
    hand: str
    glove_size: str
    boot_size: str
    overall_size: str
    crew: str | None
    crew_since: datetime | None


def items_for_update(tags: Sequence[str]) -> list[ScannedItem]:
    """The items that any of `tags` finds, one a tag, locked in the order of their ids."""
    lock = "" if connection.vendor == "sqlite" else "FOR UPDATE OF state"
    return [
        ScannedItem(_uuid(item), tag, crew, json.loads(fold), kind, size, hand, bool(hands))
        for item, tag, crew, fold, kind, size, hand, hands in _asked(ITEMS + lock, tags)
    ]


def loans(badges: Sequence[str]) -> list[ScannedLoan]:
    """All loans of these cards, those that began last first."""
    found: dict[tuple[Any, ...], ScannedLoan] = {}
    for *row, since in _asked(LOANS, badges):
        # A picker may be in several crews; the one joined last comes first.
        found.setdefault(tuple(row[:4]), ScannedLoan(*row, _utc(since)))
    return list(found.values())


def _asked(sql: str, codes: Sequence[str]) -> list[tuple[Any, ...]]:
    if not codes:
        return []
    with connection.cursor() as cursor:
        cursor.execute(sql.format(codes=", ".join(["%s"] * len(codes))), list(codes))
        rows: list[tuple[Any, ...]] = cursor.fetchall()
    return rows


def _uuid(value: UUID | str) -> UUID:
    return value if isinstance(value, UUID) else UUID(value)


def _utc(value: datetime | None) -> datetime | None:
    return value.replace(tzinfo=UTC) if value and value.tzinfo is None else value
