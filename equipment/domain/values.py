"""The values of the book: an entry as a fold sees it, and the states that entries add up to.

Everything is frozen. A state is never edited: a step returns a new one.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any, Literal, Self
from uuid import UUID

Place = Literal["store", "picker", "crew", "orchard", "bench", "missing", "gone"]
OUT: frozenset[str] = frozenset({"picker", "crew", "orchard"})


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the book, reduced to what a fold reads.

    `store`, `crew` and `block` are codes, `picker` an opaque number, `happened_at` is UTC. `detail` is the verb's
    checked detail as plain JSON values.
    """

    id: UUID
    verb: str
    happened_at: datetime
    device: UUID
    device_seq: int
    store: str
    detail: Mapping[str, Any] = field(default_factory=dict)
    picker: int | None = None
    crew: str | None = None
    block: str | None = None


@dataclass(frozen=True, slots=True)
class Discrepancy:
    """Entry `entry` contradicts what was known before it; `key` is what a `settled` entry names."""

    code: str
    entry: UUID

    @property
    def key(self) -> str:
        return f"{self.code}:{self.entry}"


@dataclass(frozen=True, slots=True)
class State:
    """What every subject's state has: contradictions found by the fold, and the keys that a person has settled."""

    discrepancies: tuple[Discrepancy, ...] = ()
    settled: frozenset[str] = frozenset()

    def contradicted(self, code: str, entry: UUID) -> Self:
        return replace(self, discrepancies=(*self.discrepancies, Discrepancy(code, entry)))

    @property
    def open(self) -> tuple[Discrepancy, ...]:
        return tuple(d for d in self.discrepancies if d.key not in self.settled)


@dataclass(frozen=True, slots=True)
class ItemState(State):
    """Where an item is, with whom, since when, and in what set.

    `store` is the item's own store (where it lies, or was drawn from). `picker` and `crew` name the holder while it is
    out and the last holder while it is missing. `set` is the tag of the set it is packed in. An item that no
    `registered` entry created is `gone`.
    """

    place: Place = "gone"
    store: str | None = None
    picker: int | None = None
    crew: str | None = None
    block: str | None = None
    since: datetime | None = None
    set: str | None = None
    wet: bool = False
    tag: str = ""
    registered: bool = False

    @property
    def out(self) -> bool:
        return self.place in OUT


@dataclass(frozen=True, slots=True)
class CrewState(State):
    """Who is in the crew, and since when (picker -> UTC), and the kit lines waived of late."""

    members: Mapping[int, datetime] = field(default_factory=dict)
    waived: tuple[tuple[int, str, datetime], ...] = ()
