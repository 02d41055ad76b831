"""What people were mailed, so that nobody is mailed the same twice; and what there is to mail."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import NamedTuple
from uuid import UUID

from django.conf import settings
from django.db import models
from django.db.models import Q

from crews.models import User
from equipment.models.book import Entry
from equipment.models.gear import Item
from equipment.models.states import ItemState

OVERRIDDEN = "overridden"
AT_ONCE = 5000
OUT = frozenset({"picker", "crew", "orchard"})
NOT_HERE = ("gone", "missing")
# A phone may send its hand-outs so late; what was recorded while the last digest was written is looked at again.
LATEST, OVERLAP = timedelta(days=30), timedelta(hours=1)


class Reminder(models.Model):
    """`user` was mailed that this item's `name` (a cleaning, a checklist, a fault; the codes overridden) fell due, or
    was overridden, at `due_at`."""

    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    item = models.ForeignKey(Item, models.CASCADE, related_name="+", db_index=False)
    what = models.CharField(max_length=10)
    name = models.CharField(max_length=100)
    due_at = models.DateTimeField()
    sent_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["user", "item", "what", "name", "due_at"], name="a_person_is_reminded_once"
            )
        ]
        indexes = [models.Index(fields=["user", "-sent_at"], name="last_reminder_of_a_person")]

    def __str__(self) -> str:
        return f"{self.what} {self.name}"


class Key(NamedTuple):
    """One thing that a person is told once."""

    item: UUID
    what: str
    name: str
    due_at: datetime


def already_told(user: User, items: Collection[UUID]) -> set[Key]:
    """What this person was mailed of these items. One query for so many thousand of them."""
    found: set[Key] = set()
    remaining = list(items)
    for start in range(0, len(remaining), AT_ONCE):
        rows = Reminder.objects.filter(user=user, item__in=remaining[start : start + AT_ONCE])
        found |= {Key(*row) for row in rows.values_list(*Key._fields)}
    return found


@dataclass(frozen=True, slots=True)
class Late:
    """Something overdue, or overridden at the gate, of an item; `cause` as `domain.clock.CAUSES` has it, else "", `by`
    who overrode it."""

    key: Key
    tag: str
    kind: str
    crew: str | None
    store: str | None
    cause: str = ""
    by: str = ""


def overdue(at: datetime) -> list[Late]:
    """At `at` (UTC): cleanings of what is out, mends, and inspections that hold a piece back. Those that only warn are
    said where the piece is handed out. One query, over all items: for once in a while."""
    rows = ItemState.objects.exclude(place__in=NOT_HERE).filter(
        Q(place__in=OUT, due_at__lte=at) | Q(holds_at__lte=at)
    )
    columns = "item", "tag", "item__kind", "crew", "store", "place", "due"
    found = [late for row in rows.values_list(*columns).iterator() for late in _late(*row, at=at)]
    return sorted(found, key=lambda late: (late.key.due_at, late.tag))


def _late(
    item: UUID,
    tag: str,
    kind: str,
    crew: str | None,
    store: str | None,
    place: str,
    due: list,
    *,
    at: datetime,
) -> Iterator[Late]:
    for each in due:
        when = datetime.fromisoformat(each["at"]) if each["at"] else None
        told = place in OUT if each["what"] == "clean" else each["holds"]
        if when is not None and when <= at and told:
            key = Key(item, each["what"], each["name"], when)
            yield Late(key, tag, kind, crew if place in OUT else None, store, each["cause"] or "")


def overridden(since: datetime) -> list[Late]:
    """What went out against the gate, as far as it was recorded since then, in order."""
    rows = Entry.objects.filter(
        verb="handed_out",
        happened_at__gte=since - LATEST,
        recorded_at__gt=since - OVERLAP,
        detail__has_key=OVERRIDDEN,
    ).order_by("happened_at", "id")
    columns = (
        "item",
        "item__state__tag",
        "item__kind",
        "crew",
        "store",
        "happened_at",
        "by__username",
        "detail",
    )
    return [
        Late(Key(item, OVERRIDDEN, ",".join(detail[OVERRIDDEN])[:100], at), tag, kind, crew, store, by=by)
        for item, tag, kind, crew, store, at, by, detail in rows.values_list(*columns)
        if detail[OVERRIDDEN]
    ]
