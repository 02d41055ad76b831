"""The lives of many subjects, read in bulk for refolding: raw rows in the order of their subjects, no model instances.

Reading through the ORM costs more than the fold itself. So the query is the ORM's, its rows come straight from the
cursor, and the few columns that a driver gives as text are turned into values here.
"""

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache, partial
from itertools import groupby
from operator import itemgetter
from typing import Any, Literal
from uuid import UUID, SafeUUID

from django.db import connection
from django.db.models import Count, QuerySet, TextField
from django.db.models.functions import Cast

from crews.models import Crew
from equipment.domain import values
from equipment.models.book import Entry
from equipment.models.gear import Item
from equipment.models.states import BathState, LotState

Family = Literal["item", "crew", "bath", "lot"]
# An item's condition is read from its crews' visits and its baths, so those come first.
FAMILIES: tuple[Family, ...] = ("crew", "bath", "lot", "item")

# About a quarter of a second's work: what a counter may have to wait while a part is rebuilt.
ROWS_AT_ONCE = 20_000
FETCHED_AT_ONCE = 2_000
PAGE = 500


@dataclass(frozen=True, slots=True)
class Part:
    """Subjects, in order, that are worked on together, and how many entries they have. `idle` have none."""

    family: Family
    keys: Sequence[Any]
    entries: int
    idle: frozenset[Any]


def parts(family: Family, rows: int = ROWS_AT_ONCE, after: Any = None) -> Iterator[Part]:
    """Every subject there is, in parts of about `rows` entries; a subject is never split. Those above `after`, where
    that is given. No more of them is in memory than `PAGE`."""
    keys: list[Any] = []
    counts: dict[Any, int] = {}
    for page in _pages(family, after):
        counts = {key: counts[key] for key in keys if key in counts} | _counts(family, page)
        entries = sum(counts.get(key, 0) for key in keys)
        for key in page:
            if keys and (entries + counts.get(key, 0) > rows or len(keys) >= rows // 10):
                yield _part(family, keys, counts)
                keys, entries = [], 0
            keys.append(key)
            entries += counts.get(key, 0)
    if keys:
        yield _part(family, keys, counts)


def part_of(family: Family, key: Any) -> Part:
    """One subject by itself."""
    count = entries_of(family).filter(**{family: key}).count()
    return _part(family, [key], {key: count} if count else {})


def _part(family: Family, keys: list[Any], counts: dict[Any, int]) -> Part:
    idle = frozenset(key for key in keys if key not in counts)
    return Part(family, tuple(keys), sum(counts.get(key, 0) for key in keys), idle)


def _counts(family: Family, keys: Sequence[Any]) -> dict[Any, int]:
    """How many entries each of these has; `keys` are all between the first and the last."""
    rows = entries_of(family).filter(**{f"{family}__gte": keys[0], f"{family}__lte": keys[-1]})
    return dict(rows.values_list(family).annotate(Count("pk")).order_by())


def _pages(family: Family, after: Any) -> Iterator[Sequence[Any]]:
    """The subjects in the database's order, some at once."""
    while keys := _subjects(family, after):
        yield keys
        after = keys[-1]


def _subjects(family: Family, after: Any) -> list[Any]:
    if family in ("item", "crew"):
        rows: Any = (Item if family == "item" else Crew).objects.order_by("pk").values_list("pk", flat=True)
        return list((rows if after is None else rows.filter(pk__gt=after))[:PAGE])
    told = entries_of(family).order_by(family).values_list(family, flat=True).distinct()
    states: Any = (BathState if family == "bath" else LotState).objects.order_by("pk")
    known = states.values_list("pk", flat=True)
    if after is not None:
        told, known = told.filter(**{f"{family}__gt": after}), known.filter(pk__gt=after)
    # Ids are in the same order in Python as in both databases.
    return sorted({*told[:PAGE], *known[:PAGE]})[:PAGE]


def entries_of(family: Family) -> "QuerySet[Entry]":
    """The entries whose subject is an item, a bath, a lot, or a crew: the first of these that they name."""
    if family == "item":
        return Entry.objects.filter(item__isnull=False)
    if family == "bath":
        return Entry.objects.filter(item=None, bath__isnull=False)
    return Entry.objects.filter(item=None, bath=None, lot__isnull=family == "crew")


def lives(family: Family, keys: Sequence[Any]) -> Iterator[tuple[Any, Callable[[], list[values.Entry]]]]:
    """Each subject among `keys` (in order, none left out between the first and the last) that has entries, with a
    call that makes values of them before the next subject is asked for. That call raises ValueError or TypeError
    where a row does not hold what its columns are for: someone wrote in the database by other means."""
    rows = entries_of(family).filter(**{f"{family}__gte": keys[0], f"{family}__lte": keys[-1]})
    rows = rows.order_by(family).annotate(at=Cast("happened_at", TextField()))
    subject = family if family in ("bath", "lot") else f"{family}_id"
    columns = (
        "id verb at device_id device_seq store_id detail picker_id crew_id block_id bath by_id lot".split()
    )
    query = rows.values_list(subject, *columns).query
    read = _SQLITE if connection.vendor == "sqlite" else _POSTGRESQL
    with connection.cursor() as cursor:
        cursor.execute(*query.sql_with_params())
        fetched = iter(lambda: cursor.fetchmany(FETCHED_AT_ONCE), [])
        flat = (row for some in fetched for row in some)
        for key, group in groupby(flat, key=itemgetter(0)):
            yield read.subject[family](key), partial(read.entries, group)


@dataclass(frozen=True)
class _Driver:
    """How the rows of one database become values."""

    subject: dict[str, Callable[[Any], Any]]
    entries: Callable[[Iterable[tuple[Any, ...]]], list[values.Entry]]


_uuid = lru_cache(10_000)(UUID)
# Most details are one of a few ("{}"); nothing changes a detail, so equal ones can be the same.
_detail = lru_cache(10_000)(json.loads)


def uuid_of_hex(text: str, new: Any = object.__new__, put: Any = object.__setattr__) -> UUID:
    """`UUID(text)` of 32 hex digits at half its price, which is a tenth of a whole rebuild: each entry has another."""
    made: UUID = new(UUID)
    put(made, "int", int(text, 16))
    put(made, "is_safe", SafeUUID.unknown)
    return made


# Times come as text: what the drivers make of them costs more than reading it here.
def _from_sqlite(rows: Iterable[tuple[Any, ...]]) -> list[values.Entry]:
    entry, time, uuid, detail = values.Entry, datetime.fromisoformat, _uuid, _detail
    return [
        entry(
            uuid_of_hex(i),
            verb,
            time(at + "+00:00"),
            uuid(device),
            seq,
            store,
            detail(text),
            who,
            crew,
            block,
            uuid(bath) if bath else None,
            by,
            uuid(lot) if lot else None,
        )
        for _, i, verb, at, device, seq, store, text, who, crew, block, bath, by, lot in rows
    ]


def _from_postgresql(rows: Iterable[tuple[Any, ...]]) -> list[values.Entry]:
    entry, time, detail = values.Entry, datetime.fromisoformat, _detail
    return [
        entry(i, verb, time(at), device, seq, store, detail(text), who, crew, block, bath, by, lot)
        for _, i, verb, at, device, seq, store, text, who, crew, block, bath, by, lot in rows
    ]


_SQLITE = _Driver({"item": _uuid, "crew": str, "bath": _uuid, "lot": _uuid}, _from_sqlite)
_POSTGRESQL = _Driver(
    {"item": lambda key: key, "crew": str, "bath": lambda key: key, "lot": lambda key: key}, _from_postgresql
)
