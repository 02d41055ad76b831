"""Triggers by which the database itself refuses to change or remove a line of the book.

SQLite's REPLACE deletes the old row without firing delete triggers, so inserting over an existing line is refused
by a trigger of its own. A table that a migration rebuilds loses its triggers: `put_back` runs after every migrate.
"""

import re
from typing import Any

from django.db.backends.base.base import BaseDatabaseWrapper

TABLE = "equipment_entry"

SQLITE = {
    "entry_no_update": f"BEFORE UPDATE ON {TABLE} BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END",
    "entry_no_delete": f"BEFORE DELETE ON {TABLE} BEGIN SELECT RAISE(ABORT, 'the book is append-only'); END",
    "entry_no_replace": (
        f"BEFORE INSERT ON {TABLE} WHEN EXISTS (SELECT 1 FROM {TABLE} WHERE id = NEW.id)"  # noqa: S608
        f" OR EXISTS (SELECT 1 FROM {TABLE} WHERE store_id = NEW.store_id AND position = NEW.position)"
        " BEGIN SELECT RAISE(ABORT, 'UNIQUE: the book is append-only'); END"
    ),
}
POSTGRESQL = {
    "entry_no_update": f"BEFORE UPDATE ON {TABLE} FOR EACH ROW EXECUTE FUNCTION the_book_is_append_only()",
    "entry_no_delete": f"BEFORE DELETE ON {TABLE} FOR EACH ROW EXECUTE FUNCTION the_book_is_append_only()",
    "entry_no_truncate": f"BEFORE TRUNCATE ON {TABLE} FOR EACH STATEMENT EXECUTE FUNCTION the_book_is_append_only()",
}
BODY = " BEGIN RAISE EXCEPTION 'the book is append-only'; END "
FUNCTION = f"""
CREATE OR REPLACE FUNCTION the_book_is_append_only() RETURNS trigger LANGUAGE plpgsql AS
$${BODY}$$
"""


def wanted(connection: BaseDatabaseWrapper) -> dict[str, str]:
    return SQLITE if connection.vendor == "sqlite" else POSTGRESQL


def present(connection: BaseDatabaseWrapper) -> set[str]:
    """Names of the triggers that stand in the database now, switched on and saying what they should."""
    if connection.vendor == "sqlite":
        query = "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = %s"
        parameters = [TABLE]
    else:
        query = (
            "SELECT tgname, pg_get_triggerdef(pg_trigger.oid) FROM pg_trigger JOIN pg_proc ON pg_proc.oid = tgfoid"
            " WHERE NOT tgisinternal AND tgenabled IN ('O', 'A') AND tgrelid = to_regclass(%s) AND prosrc = %s"
        )
        parameters = [TABLE, BODY]
    with connection.cursor() as cursor:
        cursor.execute(query, parameters)
        standing = {
            name: re.sub(r" ON \S+", f" ON {TABLE}", text, count=1) for name, text in cursor.fetchall()
        }
    return {name for name, text in wanted(connection).items() if standing.get(name) == _statement(name, text)}


def _statement(name: str, text: str) -> str:
    return f"CREATE TRIGGER {name} {text}"


def absent(connection: BaseDatabaseWrapper) -> set[str]:
    return set(wanted(connection)) - present(connection)


def install(connection: BaseDatabaseWrapper) -> None:
    """Put every trigger in place; harmless where they stand already."""
    missing = absent(connection)
    on_table = "" if connection.vendor == "sqlite" else f" ON {TABLE}"
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(FUNCTION)
        for name in sorted(missing):
            cursor.execute(f"DROP TRIGGER IF EXISTS {name}{on_table}")
            cursor.execute(_statement(name, wanted(connection)[name]))


def drop(connection: BaseDatabaseWrapper) -> None:
    """Take the triggers away: for tests that empty the database and for a restore, never while the book is open."""
    on_table = "" if connection.vendor == "sqlite" else f" ON {TABLE}"
    with connection.cursor() as cursor:
        for name in wanted(connection):
            cursor.execute(f"DROP TRIGGER IF EXISTS {name}{on_table}")


def put_back(using: str, **kwargs: Any) -> None:
    """After every migrate: the triggers stand, on every database that holds the book."""
    from django.db import connections

    connection = connections[using]
    if TABLE in connection.introspection.table_names():
        install(connection)
