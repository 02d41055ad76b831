"""What every scan asks of the database, as SQL: to have the ORM write these questions anew at each scan would cost as
much as all else that a scan does. They are the same on both databases, but for the lock, which SQLite has no need of.
"""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

from django.db import connection

from equipment.domain.values import Visit

ITEMS = """
SELECT state.item_id, {tag}, state.crew_id, state.fold, item.kind_id, item.size, item.hand, kind.hands,
       state.void, (SELECT MAX(id) FROM equipment_rule)
FROM equipment_itemstate state
JOIN equipment_item item ON item.id = state.item_id
JOIN equipment_kind kind ON kind.code = item.kind_id
{found}
ORDER BY state.item_id
"""
BY_TAG = ITEMS.format(
    tag="label.code",
    found="JOIN equipment_label label ON label.item_id = item.id WHERE label.code IN ({codes})",
)
BY_ID = ITEMS.format(tag="state.tag", found="WHERE state.item_id IN ({codes})")
# In one order of their ids; without what they hold, because whoever writes to them asks for that.
BOTH = """
SELECT state.item_id FROM equipment_itemstate state
WHERE state.item_id IN (SELECT label.item_id FROM equipment_label label WHERE label.code IN ({tags}))
   OR state.item_id IN ({ids})
ORDER BY state.item_id FOR UPDATE OF state
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

VISITS = """
SELECT crew_id, id, block_id, at, until, cause FROM equipment_visit
WHERE crew_id IN ({codes}) AND (until IS NULL OR until > %s)
ORDER BY crew_id, at, id
"""


@dataclass(frozen=True, slots=True)
class ScannedItem:
    """An item as it comes locked; `tag` is the one scanned, old or new, where a scan found it. `fold` is JSON.
    `of_a_hand`: its kind is made for the left or the right one; `rules` is the newest version of the farm's rules, so
    that nobody need ask."""

    item_id: UUID
    tag: str
    crew_id: str | None
    fold: str
    kind_id: str
    size: str
    hand: str
    of_a_hand: bool
    void: dict[str, str]
    rules: int

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
    return _locked(BY_TAG, tags)


def touched_for_update(items: Iterable[UUID]) -> list[ScannedItem]:
    """These items, locked in the order of their ids."""
    return _locked(BY_ID, [bound_id(item) for item in items])


def lock_both(tags: Sequence[str], items: Iterable[UUID]) -> None:
    """On PostgreSQL: lock the items that any of `tags` finds and these `items`, in the order of their ids."""
    ids = [bound_id(item) for item in items]
    sql = BOTH.format(tags=_places(tags), ids=_places(ids))
    with connection.cursor() as cursor:
        cursor.execute(sql, [*tags, *ids])


def _places(values: Sequence[Any]) -> str:
    return ", ".join(["%s"] * len(values))


def _locked(sql: str, codes: Sequence[Any]) -> list[ScannedItem]:
    lock = "" if connection.vendor == "sqlite" else "FOR UPDATE OF state"
    return [
        ScannedItem(
            as_uuid(item),
            tag,
            crew,
            fold,
            kind,
            size,
            hand,
            bool(hands),
            json.loads(void),
            rules or 0,
        )
        for item, tag, crew, fold, kind, size, hand, hands, void, rules in asked(sql + lock, codes)
    ]


def loans(badges: Sequence[str]) -> list[ScannedLoan]:
    """All loans of these cards, those that began last first."""
    found: dict[tuple[Any, ...], ScannedLoan] = {}
    for *row, since in asked(LOANS, badges):
        # A picker may be in several crews; the one joined last comes first.
        found.setdefault(tuple(row[:4]), ScannedLoan(*row, _utc(since)))
    return list(found.values())


def visits(crews: Sequence[str], since: datetime) -> list[tuple[str, Visit]]:
    """The visits of these crews that were not over at `since` (UTC), each with its crew, in order."""
    return [
        (crew, Visit(as_uuid(own), block, as_time(at), _utc(until), cause))
        for crew, own, block, at, until, cause in asked(VISITS, crews, bound(since))
    ]


def bound(at: datetime) -> Any:
    """A time as the database takes it."""
    return connection.ops.adapt_datetimefield_value(at)


def bound_id(own: UUID) -> UUID | str:
    """An id as the database takes it."""
    return own.hex if connection.vendor == "sqlite" else own


def as_time(at: datetime) -> datetime:
    return at if at.tzinfo is not None else at.replace(tzinfo=UTC)


def asked(sql: str, codes: Sequence[Any], *others: Any) -> list[tuple[Any, ...]]:
    """The rows for `codes`, which stand where the SQL says so, before all `others`; none, unasked, for no codes."""
    if not codes:
        return []
    with connection.cursor() as cursor:
        cursor.execute(sql.format(codes=", ".join(["%s"] * len(codes))), [*codes, *others])
        rows: list[tuple[Any, ...]] = cursor.fetchall()
    return rows


def as_uuid(value: UUID | str) -> UUID:
    return value if isinstance(value, UUID) else UUID(value)


def _utc(value: datetime | None) -> datetime | None:
    return value.replace(tzinfo=UTC) if value and value.tzinfo is None else value
