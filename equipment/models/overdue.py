"""What is out and must be cleaned: due now, or soon. Read from the work queue that the derived columns are.

The question is SQL of its own, the same on both databases but for the index: thousands of rows are asked for every few
seconds. SQLite takes the partial index only where the places stand in the question as they are written here, and keeps
no statistics by itself to prefer it by, so it is told to. The times are those that were derived last; whoever acts on
one asks the gate again.
"""

import json
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from typing import Any, NamedTuple
from uuid import UUID

from django.db import connection
from django.utils import timezone

from crews import policy
from crews.models import User
from equipment.domain.visits import LONGEST_UNTOLD
from equipment.models.states import ItemState

COMING = timedelta(hours=2)
# Dirt is washed off before a dip counts, so of two that fell due together it comes first.
METHODS = ("wash", "dry", "sterilise")

FROM = """
FROM equipment_itemstate state{index}
JOIN equipment_item item ON item.id = state.item_id
WHERE state.place IN ('picker', 'crew', 'orchard') AND state.due_at IS NOT NULL AND state.due_at <= %s"""
FEW = "SELECT state.crew_id, item.kind_id, state.due, state.tag"
BADGE = """
(SELECT loan.badge_id FROM crews_badgeloan loan JOIN crews_badge badge ON badge.code = loan.badge_id
 WHERE loan.picker_id = state.picker_id AND loan.from_day <= %s AND (loan.to_day IS NULL OR loan.to_day >= %s)
   AND (badge.died_on IS NULL OR badge.died_on > %s)
 ORDER BY loan.from_day DESC, loan.id DESC LIMIT 1)"""
HERE = """
(SELECT visit.block_id FROM equipment_visit visit
 WHERE visit.crew_id = state.crew_id AND visit.until IS NULL AND visit.at > %s ORDER BY visit.at DESC LIMIT 1)"""
ALL = (
    "SELECT state.item_id, state.tag, item.kind_id, state.store_id, state.place, state.crew_id,"
    f" {BADGE} AS picker, COALESCE(state.block_id, {HERE}) AS block, state.due_at, state.due"
)
OWN = " AND state.crew_id IN (SELECT code FROM crews_crew WHERE supervisor_id = %s)"
AFTER = " AND state.due_at >= %s AND (state.due_at > %s OR state.item_id > %s)"


class Cleaning(NamedTuple):
    """By `method`, due at `at` (UTC) because of `cause`, see `domain.clock.CAUSES`."""

    at: datetime
    method: str
    cause: str


class Piece(NamedTuple):
    """An item that is out and has a cleaning due. `item` as the database gives it, `picker` the badge of the day,
    `block` where it was stowed, or where its crew is on a visit."""

    item: UUID | str
    tag: str
    kind: str
    store: str | None
    place: str
    crew: str | None
    picker: str | None
    block: str | None
    due_at: datetime
    cleanings: Sequence[Cleaning]

    @property
    def first(self) -> Cleaning:
        """What falls due at `due_at`."""
        if len(self.cleanings) == 1:
            return self.cleanings[0]
        return min(self.cleanings, key=lambda each: (each.at, METHODS.index(each.method)))


@dataclass(frozen=True, slots=True)
class Page:
    """At most `size` pieces, after the one that fell due at `after[0]` and is `after[1]`."""

    size: int
    after: tuple[datetime, UUID] | None = None


def pieces(user: User | None, at: datetime, within: timedelta, page: Page) -> list[Piece]:
    """The items out whose next cleaning is due at `at` (UTC) or `within` a span after it, the longest due first; a
    supervisor's are those of their own crews, None sees all. One query."""
    asked, values = question(ALL, user, at + within)
    if page.after is not None:
        after = _bound(page.after[0])
        asked += AFTER
        values += [after, after, _key(page.after[1])]
    asked += " ORDER BY state.due_at, state.item_id LIMIT %s"
    rows = _selected(asked, [*around(at), *values, page.size])
    return [Piece(*row[:8], _utc(row[8]), _cleanings(row[9])) for row in rows]


def around(at: datetime) -> list[Any]:
    """The values for the places of `ALL`: today's cards, and visits that began within a day's work."""
    today = timezone.localdate(at)
    return [today, today, today, _bound(at - LONGEST_UNTOLD)]


def question(columns: str, user: User | None, until: datetime) -> tuple[str, list[Any]]:
    """The statement as far as its conditions, and the values for the places of these."""
    index = " INDEXED BY cleanings_due_in_use" if connection.vendor == "sqlite" else ""
    asked, values = columns + FROM.format(index=index), [_bound(until)]
    if user is not None and policy.only_own_crews(user):
        return asked + OWN, [*values, user.pk]
    return asked, values


def _selected(asked: str, values: Sequence[Any]) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(asked, values)
        rows: list[tuple[Any, ...]] = cursor.fetchall()
    return rows


@lru_cache(maxsize=8192)
def _cleanings(due: str) -> tuple[Cleaning, ...]:
    """Those that fall due at all. Kept: the board asks every few seconds, mostly for what it has read before."""
    return tuple(
        Cleaning(datetime.fromisoformat(each["at"]), each["name"], each["cause"])
        for each in json.loads(due)
        if each["what"] == "clean" and each["at"]
    )


class Fallen(NamedTuple):
    """The cleaning of these pieces is due at `at`."""

    at: datetime
    tags: Sequence[str]
    cause: str


@dataclass(frozen=True, slots=True)
class Group:
    """What a crew has of one kind that wants one cleaning: `overdue` by now, `coming` after that; each in order."""

    crew: str | None
    kind: str
    method: str
    overdue: Sequence[Fallen]
    coming: Sequence[Fallen]


def groups(user: User | None, at: datetime, within: timedelta = COMING) -> list[Group]:
    """What is due at `at` (UTC) or `within` a span after it, by crew, kind and method: what must be sterilised
    before the rest, the longest overdue first. Of whom, as in `pieces`. One query."""
    until = at + within
    alike: dict[tuple[str | None, str, str], list[str]] = defaultdict(list)
    for crew, kind, due, tag in _selected(*question(FEW, user, until)):
        alike[crew, kind, due].append(tag)
    found: dict[tuple[str | None, str, str], tuple[list[Fallen], list[Fallen]]] = defaultdict(
        lambda: ([], [])
    )
    for (crew, kind, due), tags in alike.items():
        for when, method, cause in _cleanings(due):
            if when <= until:
                found[crew, kind, method][when > at].append(Fallen(when, tags, cause))
    made = [Group(*key, sorted(over), sorted(coming)) for key, (over, coming) in found.items()]
    return sorted(made, key=_urgency)


def _urgency(group: Group) -> tuple[bool, bool, datetime]:
    return not group.overdue, group.method != "sterilise", (group.overdue or group.coming)[0].at


@dataclass(frozen=True, slots=True)
class Dip:
    """The crew's next dip: `count` pieces fall due at `at`, or were due before the moment asked for (`overdue`)."""

    at: datetime
    count: int
    overdue: bool


def next_dip(crew: str, at: datetime) -> Dip | None:
    """By when this crew must sterilise next; None where nothing of it falls due. One query."""
    rows = ItemState.objects.out().filter(crew=crew, due_at__isnull=False)
    times = sorted(
        datetime.fromisoformat(due["at"])
        for dues in rows.values_list("due", flat=True)
        for due in dues
        if due["what"] == "clean" and due["name"] == "sterilise" and due["at"]
    )
    if not times:
        return None
    count = sum(when <= max(times[0], at) for when in times)
    return Dip(times[0], count, times[0] <= at)


def _bound(at: datetime) -> Any:
    return connection.ops.adapt_datetimefield_value(at)


def _key(item: UUID) -> Any:
    return ItemState._meta.pk.target_field.get_db_prep_value(item, connection)


def _utc(at: datetime) -> datetime:
    return at if at.tzinfo is not None else at.replace(tzinfo=UTC)
