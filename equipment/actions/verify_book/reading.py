"""Entries read although somebody may have written in the database by other means."""

from dataclasses import dataclass

from django.db.models import QuerySet

from equipment.actions.refolding import STUMBLES
from equipment.models import Entry


@dataclass(frozen=True, slots=True)
class Unreadable:
    """A row of the book in which some column no longer holds what it is for."""

    position: int


def read(rows: "QuerySet[Entry]") -> list[Entry | Unreadable]:
    """The rows in their order: all at once, or one by one where some cannot be read."""
    try:
        return list(rows)
    except STUMBLES:
        return [_read(*place) for place in rows.values_list("store_id", "position")]


def _read(store: str, position: int) -> Entry | Unreadable:
    try:
        return Entry.objects.get(store=store, position=position)
    except STUMBLES:
        return Unreadable(position)
