"""Who may write now: one writer at a time on SQLite, row locks on PostgreSQL."""

import tempfile
import threading
from collections import deque
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from time import monotonic
from typing import TypeVar
from uuid import UUID

from django.db import connection, transaction
from filelock import FileLock

from crews.models import Crew
from equipment.ledger import watched
from equipment.models import BathState, LotState

State = TypeVar("State", BathState, LotState)


class Turns:
    """Lets one in at a time, in the order in which they came. A lock alone lets in whoever is quickest, which is the
    one that has just left: a phone with much to tell would keep a counter waiting through all of it."""

    def __init__(self) -> None:
        self._guard = threading.Lock()
        self._waiting: deque[threading.Lock] = deque()
        self._taken = False

    def __enter__(self) -> None:
        with self._guard:
            if not self._taken:
                self._taken = True
                return
            turn = threading.Lock()
            turn.acquire()
            self._waiting.append(turn)
        turn.acquire()

    def __exit__(self, *_: object) -> None:
        with self._guard:
            if self._waiting:
                self._waiting.popleft().release()
            else:
                self._taken = False


_one_writer = Turns()
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
    asked = monotonic()
    with _one_writer, _between_processes():
        watched.waited(monotonic() - asked)
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


def lock_baths(baths: Iterable[UUID]) -> list[BathState]:
    """The rows of these baths, in order; nobody else writes of them until the transaction ends. After the crews, before
    any item: a dip writes to the bath and to the items."""
    return _locked(BathState, baths)


def lock_lots(lots: Iterable[UUID]) -> list[LotState]:
    """As `lock_baths`, of lots. After the items: whoever sends a mend along with what it used up has those already."""
    return _locked(LotState, lots)


def _locked(model: type[State], wanted: Iterable[UUID]) -> list[State]:
    """Of a bath or a lot that is not in the book yet there is no row to lock, so its number is locked: of two who bring
    it in at one moment the second waits, and then sees what the first has written."""
    keys = sorted(set(wanted))
    rows = _for_update(model, keys)
    new = sorted(set(keys) - {row.pk for row in rows})
    if not new or connection.vendor == "sqlite":
        return rows
    with connection.cursor() as cursor:
        for number in sorted(_number(key) for key in new):
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [number])
    return sorted([*rows, *_for_update(model, new)], key=lambda row: row.pk)


def _for_update(model: type[State], keys: list[UUID]) -> list[State]:
    if not keys:
        return []
    return list(model.objects.select_for_update(of=("self",)).filter(pk__in=keys).order_by("pk"))


def _number(key: UUID) -> int:
    """What PostgreSQL locks: the last 64 bits, most of which are random. Two alike only wait for each other."""
    return int.from_bytes(key.bytes[8:], signed=True)
