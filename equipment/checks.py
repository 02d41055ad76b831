"""System checks: does the book still guard itself?"""

import sqlite3
from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, Warning, register
from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper

from equipment.models import triggers

# What PostgreSQL waits for before it says that something is written; a farm's server has them on from the start.
DURABLE = ("fsync", "full_page_writes", "synchronous_commit")
SAFE_SQLITE = ((3, 51, 3), (3, 50, 7), (3, 44, 6))


@register(Tags.database)
def triggers_stand(databases: list[str] | None = None, **kwargs: Any) -> list[CheckMessage]:
    """Only where the book's table exists: before the first migrate there is nothing to guard."""
    found: list[CheckMessage] = []
    for alias in databases or []:
        connection = connections[alias]
        if triggers.TABLE not in connection.introspection.table_names():
            continue
        if missing := triggers.absent(connection):
            found.append(
                Error(
                    f"The book in '{alias}' can be changed: {', '.join(sorted(missing))} missing.",
                    hint="Run `manage.py migrate`, then `manage.py verify_book`.",
                    id="shedbook.E001",
                )
            )
    return found


@register(Tags.database)
def sqlite_is_recent(databases: list[str] | None = None, **kwargs: Any) -> list[CheckMessage]:
    """Older SQLite has a rare race between two connections that checkpoint at once; our one write lock avoids it."""
    if not any(connections[alias].vendor == "sqlite" for alias in databases or []):
        return []
    here = sqlite3.sqlite_version_info
    if here >= SAFE_SQLITE[0] or any(here[:2] == safe[:2] and here >= safe for safe in SAFE_SQLITE[1:]):
        return []
    return [
        Warning(
            f"SQLite {sqlite3.sqlite_version} has a rare write-ahead-log race; 3.51.3, 3.50.7 and 3.44.6 do not.",
            hint="Run one server process only, as `manage.py serve` does.",
            id="shedbook.W001",
        )
    ]


@register(Tags.database)
def what_is_acknowledged_is_on_disk(databases: list[str] | None = None, **kwargs: Any) -> list[CheckMessage]:
    """Not where tests run: their server outlives nothing."""
    found: list[CheckMessage] = []
    for alias in databases or []:
        if not settings.TESTING and (off := hasty(connections[alias])):
            found.append(
                Warning(
                    f"PostgreSQL of '{alias}' acknowledges what a power cut may lose: {', '.join(off)} is off.",
                    hint="Set it to on in postgresql.conf, and reload.",
                    id="shedbook.W002",
                )
            )
    return found


def hasty(connection: BaseDatabaseWrapper) -> list[str]:
    """Which of `DURABLE` are off; none on SQLite, whose settings are our own."""
    if connection.vendor != "postgresql":
        return []
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT name FROM pg_settings WHERE name = ANY(%s) AND setting = 'off'", [list(DURABLE)]
        )
        return sorted(name for (name,) in cursor.fetchall())
