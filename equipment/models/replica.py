"""Reading from a replica, a second PostgreSQL that follows the first: for registers and charts, never for a counter.

A replica may lag. Whoever reads a register asks for the heads where it is read, and prints those; lines as of heads
that the replica has not come to are read from the primary. Where it does not answer, the primary is read as well: a
register that an auditor waits for is worth more than a counter's milliseconds, and its heads say all the same what
stands on it. Then it is left alone for a while, lest everybody wait for it in turn.
"""

import logging
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from itertools import islice
from typing import Any, TypeVar

from django.db import DEFAULT_DB_ALIAS, InterfaceError, OperationalError, connections

from equipment.models.book import ChainHead

T = TypeVar("T")
ALIAS = "replica"
LEFT_ALONE = 30.0  # seconds
FAILED = (OperationalError, InterfaceError)
Heads = Mapping[str, tuple[int, str]]

log = logging.getLogger(__name__)
_here: ContextVar[bool] = ContextVar("read from the replica", default=False)
_away = {"until": 0.0}


class Router:
    """Sends what is read within `asked` and `lines` to the replica, and everything else to the one database."""

    def db_for_read(self, model: Any, **hints: Any) -> str:
        return ALIAS if _here.get() else DEFAULT_DB_ALIAS

    def db_for_write(self, model: Any, **hints: Any) -> str:
        return DEFAULT_DB_ALIAS

    def allow_relation(self, one: Any, other: Any, **hints: Any) -> bool:
        return True

    def allow_migrate(self, db: str, app_label: str, **hints: Any) -> bool:
        return db != ALIAS


def asked(question: Callable[[], T], heads: Heads | None = None) -> T:
    """What `question` gives, which only reads: from the replica, where there is one that answers and that has come to
    `heads`, else from the primary."""
    if _usable(heads):
        try:
            with _reading():
                return question()
        except FAILED as error:
            _leave(error)
    return question()


def lines(make: Callable[[], Iterator[T]], heads: Heads) -> Iterator[T]:
    """What `make` yields, the same for ever for the same `heads`; where the replica breaks off, the primary goes on."""
    done = 0
    if _usable(heads):
        steps = make()
        try:
            while True:
                with _reading():
                    try:
                        line = next(steps)
                    except StopIteration:
                        return
                done += 1
                yield line
        except FAILED as error:
            _leave(error)
    yield from islice(make(), done, None)


def _usable(heads: Heads | None) -> bool:
    if ALIAS not in connections.databases or time.monotonic() < _away["until"]:
        return False
    try:
        return not heads or _has_come_to(heads)
    except FAILED as error:
        _leave(error)
        return False


def _has_come_to(heads: Heads) -> bool:
    there = dict(ChainHead.objects.using(ALIAS).values_list("store", "position"))
    return all(there.get(store, 0) >= position for store, (position, _digest) in heads.items())


@contextmanager
def _reading() -> Iterator[None]:
    before = _here.set(True)
    try:
        yield
    finally:
        _here.reset(before)


def _leave(error: Exception) -> None:
    log.warning("The replica is not read for %.0f s: %s", LEFT_ALONE, error)
    _away["until"] = time.monotonic() + LEFT_ALONE
    connections[ALIAS].close()
