"""Entries for a register: those that stood in the book at given heads, without those that were taken back by then."""

from collections.abc import Iterable, Iterator, Sequence
from heapq import merge
from itertools import islice
from operator import attrgetter
from typing import Any
from uuid import UUID

from django.db.models import Case, Q, QuerySet, When

from equipment.models.book import Entry
from equipment.models.registers.base import Asked, Heads

AT_ONCE = 1_000
# By the names of `Asked`: where an entry has it.
COLUMNS = {
    "store": "store",
    "crew": "crew",
    "block": "block",
    "kind": "item__kind",
    "picker": "picker",
    "tag": "item__labels__code",
}


def at_heads(heads: Heads) -> QuerySet[Entry]:
    """All entries that stood in the book at `heads`. Said so that no database begins at the positions, which nearly all
    entries fulfil, but at what else is asked for."""
    if not heads:
        return Entry.objects.none()
    last = (When(store=store, then=position) for store, (position, _digest) in heads.items())
    return Entry.objects.filter(position__lte=Case(*last, default=0))


def in_period(asked: Asked, heads: Heads, *filters: str) -> QuerySet[Entry]:
    """Those that happened in the period, limited by those of `filters` that are asked for and that an entry has."""
    return _limited(asked, heads, filters).filter(happened_at__gte=asked.since, happened_at__lt=asked.until)


def before(asked: Asked, heads: Heads, *filters: str) -> QuerySet[Entry]:
    """Those that happened before the period, limited in the same way."""
    return _limited(asked, heads, filters).filter(happened_at__lt=asked.since)


def _limited(asked: Asked, heads: Heads, filters: Iterable[str]) -> QuerySet[Entry]:
    wanted = {COLUMNS[name]: value for name in filters if (value := getattr(asked, name))}
    return at_heads(heads).filter(**wanted)


def standing(rows: QuerySet[Entry], verbs: Sequence[str], heads: Heads) -> Iterator[list[Entry]]:
    """Those of `verbs` among `rows` in order of time, some at once, without those taken back by the time of `heads`.

    Read by pages, each by itself: no cursor stays open, so neither a counter nor memory waits for a long register.
    """
    streams = [_pages(rows.filter(verb=verb)) for verb in verbs]
    in_order = merge(*streams, key=attrgetter("happened_at", "id"))
    undone = all_taken_back(heads)
    while some := list(islice(in_order, AT_ONCE)):
        yield [row for row in some if row.pk not in undone]


def _pages(rows: QuerySet[Entry]) -> Iterator[Entry]:
    rows = rows.order_by("happened_at", "id")
    after = Q()
    while page := list(rows.filter(after)[:AT_ONCE]):
        yield from page
        last = page[-1]
        later = Q(happened_at__gt=last.happened_at) | Q(happened_at=last.happened_at, id__gt=last.pk)
        # The first part says no more than the second, but an index can begin there.
        after = Q(happened_at__gte=last.happened_at) & later


def all_taken_back(heads: Heads) -> frozenset[UUID]:
    """The ids of all entries that were taken back by then: one query, by verb. They are few beside what happened, and
    the lives of the pieces that a long register names may be half the book."""
    found = at_heads(heads).filter(verb="reversed").values_list("detail__entry", flat=True)
    return frozenset(UUID(entry) for entry in found)


def taken_back(rows: Iterable[Entry], heads: Heads) -> set[UUID]:
    """The ids of those that were taken back by then: a query for each family of subjects among them."""
    items, crews, baths, lots = set(), set(), set(), set()
    for row in rows:
        if row.item_id:
            items.add(row.item_id)
        elif row.lot:
            lots.add(row.lot)
        elif row.bath:
            baths.add(row.bath)
        else:
            crews.add(row.crew_id)
    subjects = (
        (items, Q(item__in=items)),
        (crews, Q(item=None, bath=None, lot=None, crew__in=crews)),
        (baths, Q(item=None, bath__in=baths)),
        (lots, Q(lot__in=lots)),
    )
    named: set[UUID] = set()
    for keys, subject in subjects:
        if keys:
            found = at_heads(heads).filter(subject, verb="reversed").values_list("detail__entry", flat=True)
            named |= {UUID(entry) for entry in found}
    return named


def where(entry: Any) -> str:
    """The entry's place in the book, as paper names it."""
    return f"{entry.store_id} {entry.position}"
