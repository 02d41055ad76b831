"""What became of a piece around its hand-outs, as the book stood at given heads: in what set it lay before, and what
ended the holder's having it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import OuterRef, Q, QuerySet, Subquery

from equipment.models.book import Entry
from equipment.models.registers.base import Heads
from equipment.models.registers.reading import at_heads, taken_back

BEFORE = ("packed", "handed_out")
ENDING = ("returned", "handed_out", "missed", "written_off")


@dataclass(frozen=True, slots=True)
class Stay:
    """`set` is the set that the piece was handed out in, "" for none; `ended` the verb that ended the stay and when,
    None where nothing has."""

    set: str = ""
    ended: tuple[str, datetime] | None = None


def stays(handed_out: Sequence[Entry], heads: Heads) -> dict[UUID, Stay]:
    """By entry. Three queries, or none."""
    if not handed_out:
        return {}
    standing = at_heads(heads).filter(item=OuterRef("item")).exclude(pk__in=taken_back(handed_out, heads))
    # The first part of each says no more than the second, but an index can begin there.
    at = OuterRef("happened_at")
    earlier = Q(happened_at__lte=at) & (Q(happened_at__lt=at) | _same_time(pk__lt=OuterRef("pk")))
    later = Q(happened_at__gte=at) & (Q(happened_at__gt=at) | _same_time(pk__gt=OuterRef("pk")))
    rows = Entry.objects.filter(pk__in=[row.pk for row in handed_out]).annotate(
        before=_first(standing.filter(earlier, verb__in=BEFORE).order_by("-happened_at", "-id")),
        after=_first(standing.filter(later, verb__in=ENDING).order_by("happened_at", "id")),
    )
    around = list(rows.values_list("pk", "before", "after"))
    told = _told(pk for _own, *beside in around for pk in beside if pk)
    return {own: _stay(told.get(before), told.get(after)) for own, before, after in around}


def _same_time(**beside: Any) -> Q:
    return Q(happened_at=OuterRef("happened_at"), **beside)


def _first(rows: QuerySet[Entry]) -> Subquery:
    return Subquery(rows.values("pk")[:1])


def _told(wanted: Iterable[UUID]) -> Mapping[UUID | None, tuple[str, datetime, Any]]:
    rows = Entry.objects.filter(pk__in=set(wanted)).values_list("pk", "verb", "happened_at", "detail")
    return {pk: (verb, at, detail) for pk, verb, at, detail in rows}


def _stay(before: tuple[str, datetime, Any] | None, after: tuple[str, datetime, Any] | None) -> Stay:
    packed = before[2].get("set") if before and before[0] == "packed" else ""
    return Stay(packed or "", after[:2] if after else None)
