"""Who may write now: one writer at a time on SQLite, row locks on PostgreSQL."""

import tempfile
import threading
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from django.db import connection, transaction
from filelock import FileLock

from crews.models import Crew

_one_writer = threading.RLock()
_file_locks: dict[str, FileLock] = {}
_here = threading.local()


@contextmanager
def writing() -> Iterator[None]:
    """A transaction in which the book may be written; one within another is the same one.

    SQLite lets one writer in and makes the others wait unfairly, so there they queue here: threads at a lock,
    processes at a lock file beside the database. On PostgreSQL row locks do it.
    """
    if getattr(_here, "writes", False):
        yield
        return
    with _queue(), transaction.atomic():
        _here.writes = True
        try:
            yield
        finally:
            _here.writes = False


@contextmanager
def _queue() -> Iterator[None]:
    # Who is in a transaction on SQLite is the one writer already, and must not wait for those who wait for them.
    if connection.vendor != "sqlite" or connection.in_atomic_block:
        yield
        return
    with _one_writer, _between_processes():
        yield


def _between_processes() -> FileLock:
    database = str(connection.settings_dict["NAME"])
    if ":memory:" in database or database.startswith("file:"):
        database = str(Path(tempfile.gettempdir()) / f"shedbook-{threading.get_native_id()}")
    if database not in _file_locks:
        _file_locks[database] = FileLock(f"{database}.lock", thread_local=False, poll_interval=0.002)
    return _file_locks[database]


def lock_crews(crews: Iterable[str]) -> None:
    """Let nobody else write of these crews until the transaction ends: they are locked first, before any item.

    It is the crew that is locked, not its state: of a new crew there is none yet. Without the key, so that those who
    only name the crew need not wait. SQLite has one writer anyhow.
    """
    wanted = sorted(set(crews))
    if wanted and connection.vendor != "sqlite":
        list(
            Crew.objects.select_for_update(no_key=True).filter(pk__in=wanted).order_by("pk").values_list("pk")
        )
