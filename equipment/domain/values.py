"""The values of the book: an entry as a fold sees it, and the states that entries add up to.

Everything is frozen. A state is never edited: a step returns a new one.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any, Literal, Self
from uuid import UUID

from equipment.domain.replacing import replace

Place = Literal["store", "picker", "crew", "orchard", "bench", "missing", "gone"]
OUT: frozenset[str] = frozenset({"picker", "crew", "orchard"})


@dataclass(frozen=True, slots=True)
class Entry:
    """One line of the book, reduced to what a fold reads.

    `store`, `crew` and `block` are codes, `picker` and `by` opaque numbers, `happened_at` is UTC. `detail` is the
    verb's checked detail as plain JSON values.
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
    bath: UUID | None = None
    by: int | None = None
    lot: UUID | None = None


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
class OpenFault:
    """A fault that was found and is not done with. `release` says who must still let the item go after its mend
    ("second": another than the mender, "officer"); until the mend it is ""."""

    fault: str
    entry: UUID
    at: datetime
    mended_at: datetime | None = None
    mended_by: int | None = None
    release: str = ""


@dataclass(frozen=True, slots=True)
class Cleaning:
    """A cleaning that was done as it should be, as far as the item itself can tell (its bath may still void it).

    `ends` are the causes found since (`dirty`, `wet`, `flag`) with the first time of each; `picker` is the first who
    had the item afterwards, `other_at` when another one got it.
    """

    entry: UUID
    at: datetime
    method: str
    bath: UUID | None = None
    picker: int | None = None
    other_at: datetime | None = None
    ends: tuple[tuple[str, datetime], ...] = ()


@dataclass(frozen=True, slots=True)
class Stint:
    """A picker of `crew` has the item; `until` None: still."""

    picker: int
    crew: str
    at: datetime
    until: datetime | None = None


@dataclass(frozen=True, slots=True)
class Flag:
    """The item may carry `disease`; `cleared` are the cleanings since that kill it."""

    disease: str
    entry: UUID
    at: datetime
    case: str = ""
    cleared: tuple[UUID, ...] = ()


@dataclass(frozen=True, slots=True)
class ItemState(State):
    """Where an item is, with whom, since when, in what set; and its condition and cleanliness as it tells itself.

    `store` is the item's own store (where it lies, or was drawn from). `picker` and `crew` name the holder while it is
    out and the last holder while it is missing. `set` is the tag of the set it is packed in. An item that no
    `registered` entry created is `gone`. `cleanings` are the last few of each method, `stints` the last few; both in
    order. `inspected` has the last time of each checklist, `expires_on` the first date on what belongs in the item.
    """

    place: Place = "gone"
    store: str | None = None
    picker: int | None = None
    crew: str | None = None
    block: str | None = None
    since: datetime | None = None
    set: str | None = None
    tag: str = ""
    kind: str = ""
    registered: bool = False
    registered_at: datetime | None = None
    wet_at: datetime | None = None
    dirty_at: datetime | None = None
    faults: tuple[OpenFault, ...] = ()
    cleanings: tuple[Cleaning, ...] = ()
    stints: tuple[Stint, ...] = ()
    flags: tuple[Flag, ...] = ()
    inspected: Mapping[str, datetime] = field(default_factory=dict)
    expires_on: date | None = None

    @property
    def out(self) -> bool:
        return self.place in OUT

    @property
    def wet(self) -> bool:
        return self.wet_at is not None


@dataclass(frozen=True, slots=True)
class Visit:
    """The crew is in `block` from `at` until `until` (None: still there); `cause` says what ended it."""

    entry: UUID
    block: str
    at: datetime
    until: datetime | None = None
    cause: str = ""


@dataclass(frozen=True, slots=True)
class Replan:
    """The crew's plan of `date` is changed at `at`: for that `part` of the day, in `block` (None: where it was)."""

    entry: UUID
    at: datetime
    date: date
    part: str
    clipped: bool
    block: str | None = None


@dataclass(frozen=True, slots=True)
class CrewState(State):
    """Who is in the crew, and since when (picker -> UTC), the kit lines waived of late, its visits in order, when it
    was last checked in the morning, who took it over last, and the changes of its plans in order."""

    members: Mapping[int, datetime] = field(default_factory=dict)
    waived: tuple[tuple[int, str, datetime], ...] = ()
    visits: tuple[Visit, ...] = ()
    checked_at: datetime | None = None
    led_by: int | None = None
    replanned: tuple[Replan, ...] = ()


@dataclass(frozen=True, slots=True)
class StrengthTest:
    """A reading of the bath's strength in ppm, as it is after any diluting of the sample was reckoned back."""

    entry: UUID
    at: datetime
    ppm: float


@dataclass(frozen=True, slots=True)
class BathState(State):
    """A dip bath: what it is, by the recipe of the day it was mixed, and what became of it.

    Strengths in ppm; `capacity` is how many items it takes; `life_minutes` None where it does not age. `flaws` say
    what was wrong from the start (`too_weak`, `product_expired`, `wrong_ph`). A bath never mixed has no `mixed_at`.
    """

    recipe: str = ""
    agent: str = ""
    store: str | None = None
    litres: float = 0.0
    ppm: float | None = None
    mixed_at: datetime | None = None
    life_minutes: int | None = None
    capacity: int | None = None
    flaws: tuple[str, ...] = ()
    low_ppm: int | None = None
    high_ppm: int | None = None
    tests: tuple[StrengthTest, ...] = ()
    emptied_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class LotState(State):
    """A lot of counted goods in a store: what is left of it, in the unit of the goods. `differed` is by how much the
    last count changed that. A lot that was never received has no `goods`."""

    goods: str = ""
    store: str | None = None
    received_at: datetime | None = None
    lot_number: str = ""
    expires_on: date | None = None
    left: float = 0.0
    counted_at: datetime | None = None
    differed: float = 0.0
