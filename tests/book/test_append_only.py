"""The database itself refuses to change the book, by whatever way it is asked."""

from collections.abc import Callable
from io import StringIO
from typing import Any

import pytest
from django.core.checks import run_checks
from django.core.management import call_command
from django.db import DatabaseError, IntegrityError, connection, transaction
from django.utils import timezone

from equipment.actions.writing import new_id
from equipment.models import Entry, triggers
from tests.cast import Farm

T = triggers.TABLE


def sql(text: str) -> Callable[[Entry], Any]:
    def run(entry: Entry) -> None:
        key = entry.pk.hex if connection.vendor == "sqlite" else str(entry.pk)
        with connection.cursor() as cursor:
            cursor.execute(text.format(key=key, table=T))

    return run


def bulk_update(entry: Entry) -> None:
    entry.verb = "missed"
    Entry.objects.bulk_update([entry], ["verb"])


def save(entry: Entry) -> None:
    entry.note_digest = "0" * 64
    entry.save()


def upsert(entry: Entry) -> None:
    entry.verb = "missed"
    Entry.objects.bulk_create([entry], update_conflicts=True, unique_fields=["id"], update_fields=["verb"])


CHANGES: dict[str, Callable[[Entry], Any]] = {
    "UPDATE": sql("UPDATE {table} SET verb = 'missed' WHERE id = '{key}'"),
    "UPDATE of nothing new": sql("UPDATE {table} SET verb = verb"),
    "DELETE": sql("DELETE FROM {table} WHERE id = '{key}'"),
    "DELETE of the last": sql("DELETE FROM {table} WHERE position = (SELECT max(position) FROM {table})"),
    "save": save,
    "delete": lambda entry: entry.delete(),
    "queryset.update": lambda entry: Entry.objects.filter(pk=entry.pk).update(verb="missed"),
    "queryset.delete": lambda entry: Entry.objects.filter(pk=entry.pk)._raw_delete("default"),
    "bulk_update": bulk_update,
    "upsert": upsert,
}
ON_SQLITE = {
    "INSERT OR REPLACE": sql("INSERT OR REPLACE INTO {table} SELECT * FROM {table} WHERE id = '{key}'"),
    "REPLACE": sql("REPLACE INTO {table} SELECT * FROM {table}"),
    "UPDATE OR REPLACE": sql("UPDATE OR REPLACE {table} SET position = 1"),
    "INSERT ON CONFLICT": sql(
        "INSERT INTO {table} SELECT * FROM {table} WHERE id = '{key}' ON CONFLICT DO UPDATE SET verb = 'missed'"
    ),
}
ON_POSTGRESQL = {
    "TRUNCATE": sql("SET CONSTRAINTS ALL IMMEDIATE; TRUNCATE {table} CASCADE"),
    "TRUNCATE only": sql("SET CONSTRAINTS ALL IMMEDIATE; TRUNCATE ONLY {table} CASCADE"),
    "INSERT ON CONFLICT": sql(
        "INSERT INTO {table} SELECT * FROM {table} WHERE id = '{key}' ON CONFLICT (id) DO UPDATE SET verb = 'missed'"
    ),
    "MERGE": sql(
        "MERGE INTO {table} t USING (SELECT id FROM {table}) s ON t.id = s.id"
        " WHEN MATCHED THEN UPDATE SET verb = 'missed'"
    ),
}


def refused(farm: Farm, change: Callable[[Entry], Any]) -> None:
    farm.gear("bag", 2)
    before = list(Entry.objects.order_by("store", "position").values())
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        change(Entry.objects.order_by("-position")[1])
    assert list(Entry.objects.order_by("store", "position").values()) == before


@pytest.mark.parametrize("way", CHANGES)
def test_no_line_is_changed_or_removed(way: str, farm: Farm) -> None:
    refused(farm, CHANGES[way])


@pytest.mark.only_on("sqlite")
@pytest.mark.parametrize("way", ON_SQLITE)
def test_nor_replaced_on_sqlite(way: str, farm: Farm) -> None:
    refused(farm, ON_SQLITE[way])


@pytest.mark.only_on("postgresql")
@pytest.mark.parametrize("way", ON_POSTGRESQL)
def test_nor_emptied_on_postgresql(way: str, farm: Farm) -> None:
    refused(farm, ON_POSTGRESQL[way])


def test_a_line_with_a_new_id_at_a_taken_position_is_refused(farm: Farm) -> None:
    entry = Entry.objects.first()
    assert entry
    entry.pk = new_id()
    with pytest.raises(IntegrityError), transaction.atomic():
        Entry.objects.bulk_create([entry])


BAD: dict[str, dict[str, Any]] = {
    "an item's verb without an item": {"item_id": None},
    "a crew's verb on an item": {"verb": "joined"},
    "a crew's verb without a crew": {"verb": "joined", "item_id": None, "crew_id": None},
    "an unknown verb": {"verb": "lent"},
    "a reversed of nothing": {"verb": "reversed", "item_id": None, "crew_id": None},
    "handed out to no crew": {"verb": "handed_out", "crew_id": None},
    "position nought": {"position": 0},
    "what happens after it is recorded": {"happened_at": timezone.now() + timezone.timedelta(days=1)},
}


@pytest.mark.parametrize("what", BAD)
def test_the_table_takes_no_line_that_cannot_be(what: str, farm: Farm) -> None:
    (tag,) = farm.gear("bag")
    entry = Entry.objects.get(verb="registered")
    entry.pk, entry.position = new_id(), 99
    for name, value in {"crew_id": farm.crews["red"].pk, **BAD[what]}.items():
        setattr(entry, name, value)
    with pytest.raises(IntegrityError), transaction.atomic():
        entry.save(force_insert=True)
    assert tag


def complaints() -> list[str]:
    return [found.id or "" for found in run_checks(databases=["default"]) if found.id == "shedbook.E001"]


@pytest.mark.django_db
@pytest.mark.parametrize("gone", ["all", *sorted({*triggers.SQLITE, *triggers.POSTGRESQL})])
def test_without_a_trigger_the_check_fails_and_migrate_puts_it_back(gone: str) -> None:
    if gone != "all" and gone not in triggers.wanted(connection):
        return
    assert complaints() == []
    names = triggers.wanted(connection) if gone == "all" else [gone]
    with connection.cursor() as cursor:
        for name in names:
            cursor.execute(f"DROP TRIGGER {name}" + ("" if connection.vendor == "sqlite" else f" ON {T}"))
    assert complaints() == ["shedbook.E001"]
    call_command("migrate", verbosity=0, stdout=StringIO())
    assert complaints() == []
    assert triggers.absent(connection) == set()


@pytest.mark.django_db
def test_a_trigger_that_says_nothing_is_none() -> None:
    harmless = {
        "sqlite": [
            "DROP TRIGGER entry_no_update",
            f"CREATE TRIGGER entry_no_update BEFORE UPDATE ON {T} BEGIN SELECT 1; END",
        ],
        "postgresql": [
            "CREATE OR REPLACE FUNCTION the_book_is_append_only() RETURNS trigger LANGUAGE plpgsql"
            " AS $$ BEGIN RETURN NEW; END $$"
        ],
    }[connection.vendor]
    with connection.cursor() as cursor:
        for statement in harmless:
            cursor.execute(statement)
    assert complaints() == ["shedbook.E001"]
    triggers.install(connection)
    assert complaints() == []


@pytest.mark.only_on("postgresql")
@pytest.mark.django_db
@pytest.mark.parametrize("how", ["DISABLE TRIGGER", "ENABLE REPLICA TRIGGER"])
def test_a_trigger_that_sleeps_is_none(how: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(f"ALTER TABLE {T} {how} entry_no_delete")
    assert complaints() == ["shedbook.E001"]
    triggers.install(connection)
    assert complaints() == []
