"""What somebody who owns the machine can do to one row of the book by other means, and what must then be named.

Each way takes a `Random` and gives the words that a finding about it must have. It raises `Refused` where it came upon
nothing to change. What the database itself does not take (its constraints stand) is an IntegrityError.
"""

from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta
from random import Random
from typing import Any
from uuid import UUID

from django.db import models

from equipment.domain import chain
from equipment.models import (
    BathState,
    ChainHead,
    CrewState,
    Discrepancy,
    Entry,
    Item,
    ItemState,
    Label,
    LotState,
    Membership,
    Note,
    Visit,
)
from equipment.models.projections import ITEM_COLUMNS

SEALED = [*chain.COLUMNS, "digest"]
# Whose row tells less than its key: the words by which verify_book names what such a row belongs to.
SUBJECTS: Mapping[type[models.Model], str] = {
    ItemState: "item_id",
    CrewState: "crew_id",
    BathState: "bath",
    LotState: "lot",
    Label: "item_id",
    Membership: "crew_id",
    Visit: "crew_id",
}
Way = Callable[[Random], str]


class Refused(Exception):
    """Nothing here to do this to."""


def line(entry: Entry) -> str:
    return f"{entry.store_id} {entry.position}"


def any_of(random: Random, rows: "models.QuerySet[Any]") -> Any:
    found = list(rows.order_by("pk"))
    if not found:
        raise Refused
    return random.choice(found)


def put(row: models.Model, **changed: Any) -> None:
    type(row)._base_manager.filter(pk=row.pk).update(**changed)


def another(random: Random, row: models.Model, name: str) -> Any:
    """What stands in that column of some other row, so that it looks as good as what stood here; else made up."""
    field: Any = row._meta.get_field(name)
    here = getattr(row, field.attname)
    others = [getattr(each, field.attname) for each in type(row)._base_manager.order_by("pk")]
    if field.is_relation:
        others += field.related_model._base_manager.order_by("pk").values_list("pk", flat=True)
    if different := [each for each in others if each != here]:
        return random.choice(different)
    if isinstance(field, models.BooleanField):
        return not here
    if isinstance(field, models.DateTimeField):
        return datetime(2001, 1, 1, tzinfo=UTC) + timedelta(seconds=random.randrange(10**6))
    if isinstance(field, models.JSONField):
        return [*here, "dirty"] if isinstance(here, list) else {**here, "dirty": 1}
    raise Refused


def column(name: str) -> Way:
    def change(random: Random) -> str:
        entry = any_of(random, Entry.objects.all())
        value = {"v": 2, "id": _new_id(random)}.get(name) or another(random, entry, name)
        put(entry, **{entry._meta.get_field(name).attname: value})
        return line(entry)

    return change


def row_removed(random: Random) -> str:
    entry = any_of(random, Entry.objects.all())
    _delete(entry)
    return line(entry)


def last_row_removed(random: Random) -> str:
    head = any_of(random, ChainHead.objects.filter(position__gt=0))
    entry = Entry.objects.get(store=head.store_id, position=head.position)
    _delete(entry)
    return line(entry)


def rows_swapped(random: Random) -> str:
    """The two change places."""
    one = any_of(random, Entry.objects.all())
    other = any_of(random, Entry.objects.filter(store=one.store_id).exclude(pk=one.pk))
    put(one, position=10**6)
    put(other, position=one.position)
    put(one, position=other.position)
    return line(min(one, other, key=lambda each: each.position))


def row_added(random: Random) -> str:
    """A copy of a row at the end, under another id."""
    entry = any_of(random, Entry.objects.exclude(verb__in=("registered", "retagged")))
    head = ChainHead.objects.get(store=entry.store_id)
    entry.pk, entry.position = _new_id(random), head.position + 1
    Entry.objects.bulk_create([entry])
    return line(entry)


def head_moved_back(random: Random) -> str:
    head = any_of(random, ChainHead.objects.filter(position__gt=1))
    before = any_of(random, Entry.objects.filter(store=head.store_id, position__lt=head.position))
    put(head, position=before.position, digest=before.digest, entry_id=before.pk)
    return f"{head.store_id} {head.position}"


def head_changed(name: str) -> Way:
    def change(random: Random) -> str:
        head = any_of(random, ChainHead.objects.filter(position__gt=0))
        put(head, **{name: another(random, head, name)})
        return f"{head.store_id} "

    return change


def head_removed(random: Random) -> str:
    head = any_of(random, ChainHead.objects.filter(position__gt=0))
    _delete(head)
    return f"{head.store_id} {head.position}"


def note(name: str) -> Way:
    def change(random: Random) -> str:
        row = any_of(random, Note.objects.all())
        put(row, **{name: another(random, row, name)})
        return line(row.entry)

    return change


def note_removed(random: Random) -> str:
    row = any_of(random, Note.objects.all())
    _delete(row)
    return line(row.entry)


def note_added(random: Random) -> str:
    entry = any_of(random, Entry.objects.filter(note_digest=None))
    Note.objects.bulk_create([Note(entry=entry, salt="0" * 32, text="He was told so.")])
    return line(entry)


def state(model: type[models.Model], name: str) -> Way:
    def change(random: Random) -> str:
        row = any_of(random, model._base_manager.all())
        put(row, **{row._meta.get_field(name).attname: another(random, row, name)})
        return _subject(row)

    return change


def state_removed(model: type[models.Model]) -> Way:
    def change(random: Random) -> str:
        row = any_of(random, model._base_manager.all())
        _delete(row)
        return _subject(row)

    return change


def trait(name: str) -> Way:
    def change(random: Random) -> str:
        row = any_of(random, Item.objects.all())
        put(row, **{row._meta.get_field(name).attname: another(random, row, name)})
        return str(row.pk)

    return change


def _delete(row: models.Model) -> None:
    """That row and nothing that hangs on it."""
    type(row)._base_manager.filter(pk=row.pk)._raw_delete(row._state.db or "default")


def _new_id(random: Random) -> UUID:
    return UUID(bytes=random.randbytes(16))


def _subject(row: Any) -> str:
    if isinstance(row, Discrepancy):
        return str(row.item_id or row.crew_id or row.bath_id or row.lot_id)
    return str(getattr(row, SUBJECTS[type(row)]))


WAYS: Mapping[str, Way] = {
    **{f"an entry's {name}": column(name) for name in SEALED},
    "a row removed": row_removed,
    "the last row removed": last_row_removed,
    "two rows swapped": rows_swapped,
    "a row added": row_added,
    "a head moved back": head_moved_back,
    **{f"a head's {name}": head_changed(name) for name in ("position", "digest", "entry_id")},
    "a head removed": head_removed,
    **{f"a note's {name}": note(name) for name in ("text", "salt")},
    "a note removed": note_removed,
    "a note added": note_added,
    **{f"an item's state: {name}": state(ItemState, name) for name in ITEM_COLUMNS},
    "a crew's state: fold": state(CrewState, "fold"),
    "a bath's state: recipe": state(BathState, "recipe"),
    "a lot's state: left": state(LotState, "left"),
    "a member's since": state(Membership, "since"),
    "a visit's block": state(Visit, "block"),
    "a label's item": state(Label, "item"),
    "a discrepancy's settled": state(Discrepancy, "settled"),
    **{
        f"a row of {model.__name__} removed": state_removed(model)
        for model in (*SUBJECTS, Discrepancy)
    },
    **{f"a piece's {name}": trait(name) for name in ("kind", "make", "size", "price")},
}  # fmt: skip
