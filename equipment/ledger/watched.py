"""What the writing of one request came to, for whoever watches: the log's line of it and the meters.

The ledger tells it as it goes along; nothing here is kept, and where nobody watches nothing is noted.
"""

from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from uuid import UUID

from django.db import transaction

from equipment.ledger.draft import Draft


@dataclass
class Watch:
    """`entries` that stand in the book now, as (id, store, verb); `heads`, store -> position; codes `refused`;
    `device` that wrote or tried to; `waited`, in seconds, for the right to write."""

    entries: list[tuple[UUID, str, str]] = field(default_factory=list)
    heads: dict[str, int] = field(default_factory=dict)
    refused: list[str] = field(default_factory=list)
    device: UUID | None = None
    waited: float = 0.0


_here: ContextVar[Watch | None] = ContextVar("watch", default=None)


@contextmanager
def watching() -> Iterator[Watch]:
    """Everything that this thread writes meanwhile is noted on what this gives."""
    watch = Watch()
    before = _here.set(watch)
    try:
        yield watch
    finally:
        _here.reset(before)


def wrote(drafts: Iterable[Draft], heads: Mapping[str, int]) -> None:
    """These are in the book, once the transaction that they are part of has ended well."""
    if (watch := _here.get()) is None:
        return
    entries = [(draft.id, draft.store, draft.verb) for draft in drafts]
    devices = [draft.device for draft in drafts]

    def stands() -> None:
        watch.entries += entries
        watch.heads |= heads
        watch.device = devices[-1]

    transaction.on_commit(stands)


def refused(codes: Iterable[str], device: UUID) -> None:
    """Somebody tried, and was told so."""
    if (watch := _here.get()) is not None:
        watch.refused += codes
        watch.device = device


def waited(seconds: float) -> None:
    if (watch := _here.get()) is not None:
        watch.waited += seconds
