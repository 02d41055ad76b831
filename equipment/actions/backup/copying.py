"""A copy of the database as it was at one moment, while others write in it."""

import os
import sqlite3
from contextlib import closing
from errno import ENOSPC
from pathlib import Path
from typing import Any

from django.db import connection, transaction
from django.utils.translation import gettext as _

from equipment.actions.backup import tools
from equipment.actions.backup.facts import Facts, facts

NAMES = {"sqlite": "book.sqlite3", "postgresql": "book.pgdump"}


class BadCopy(Exception):
    """The copy does not hold what it should; the message says what to do."""


def copied(folder: Path) -> tuple[Path, Facts]:
    """The copy, in a new file of `folder`, and what it says. Raises BadCopy, NoTool, OSError."""
    target = folder / NAMES[connection.vendor]
    if connection.vendor == "sqlite":
        return target, _sqlite(Path(connection.settings_dict["NAME"]), target)
    return target, _postgresql(target)


def _sqlite(source: Path, target: Path) -> Facts:
    """By SQLite's own backup, in one step: it reads as any reader of the write-ahead log does, and keeps no writer
    waiting. In many steps it would begin anew with every line that a counter writes."""
    try:
        with (
            closing(sqlite3.connect(f"{source.resolve().as_uri()}?mode=ro", uri=True)) as old,
            closing(sqlite3.connect(target)) as new,
        ):
            new.execute("PRAGMA synchronous = OFF")  # the archive is what goes to the disk
            old.backup(new)
            new.execute("PRAGMA journal_mode = DELETE")
            return checked(new)
    except sqlite3.DatabaseError as error:
        if getattr(error, "sqlite_errorcode", None) == sqlite3.SQLITE_FULL:
            raise OSError(ENOSPC, os.strerror(ENOSPC)) from error
        raise BadCopy(_unwell(str(error))) from error


def checked(copy: sqlite3.Connection) -> Facts:
    """Its facts, where every page and index of it is sound. Raises BadCopy."""
    said = [row[0] for row in copy.execute("PRAGMA integrity_check(3)")]
    if said != ["ok"]:
        raise BadCopy(_unwell("; ".join(map(str, said))))
    return facts(lambda sql: copy.execute(sql).fetchall())


def _unwell(said: str) -> str:
    words = _(
        "The database cannot be copied (%(said)s). Where it is damaged, keep the earlier backups and restore the last "
        "good one."
    )
    return words % {"said": said}


def _postgresql(target: Path) -> Facts:
    """By pg_dump, which reads in the very snapshot that the facts are asked in."""

    def ask(sql: str) -> list[Any]:
        cursor.execute(sql)
        return cursor.fetchall()

    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        snapshot = ask("SELECT pg_export_snapshot()")[0][0]
        found = facts(ask)
        how = ("--format=custom", "--compress=0", "--no-owner", "--no-privileges")
        tools.run("pg_dump", *how, f"--snapshot={snapshot}", f"--file={target}")
    return found
