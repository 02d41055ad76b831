"""Writes what the simulation makes up: through the one writer, in bursts, as a counter would have written it then."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import count, groupby
from random import Random
from typing import Any
from uuid import UUID

from crews.models import Device, Store
from equipment.actions.simulate.farm import Farm
from equipment.actions.writing import Pen
from equipment.ledger import Strictness

COUNTERS = 2
BURST = 100
PAUSE = timedelta(minutes=2)
# From the last scan of a burst to its writing down.
BREATH = timedelta(seconds=1)


@dataclass(frozen=True, slots=True)
class Line:
    at: datetime
    store: str
    counter: int
    verb: str
    fields: dict[str, Any]


@dataclass(slots=True)
class Scribe:
    """Lines wait until `record`; then they stand in the book in the order in which they happened."""

    farm: Farm
    random: Random
    written: int = 0
    _pens: dict[tuple[str, int], Pen] = field(default_factory=dict)
    _lines: list[Line] = field(default_factory=list)

    def line(self, at: datetime, store: str, verb: str, *, counter: int = 0, **fields: Any) -> UUID:
        """Something that happened at `at` in front of a counter of `store`; the id of its entry."""
        entry = self.new_id(at)
        self._lines.append(Line(at, store, counter, verb, {"id": entry, **fields}))
        return entry

    def new_id(self, at: datetime) -> UUID:
        """A UUIDv7 (RFC 9562, 5.7) of that time, its random bits from the seed."""
        stamp = int(at.timestamp() * 1000) << 80
        return UUID(
            int=stamp | 7 << 76 | self.random.getrandbits(12) << 64 | 2 << 62 | self.random.getrandbits(62)
        )

    def record(self, strictness: Strictness = "hold", at: datetime | None = None) -> None:
        """Write the waiting lines, each store's in order; at the end of each burst, or all at `at`.

        Raises RuntimeError where the book refuses a line: then the simulation has lost track of the farm.
        """
        lines, self._lines = sorted(self._lines, key=lambda line: line.at), []
        for store in self.farm.stores:
            for burst in _bursts([line for line in lines if line.store == store]):
                self._write(store, burst, strictness, at or burst[-1].at + BREATH)
        self.written += len(lines)

    def _write(self, store: str, burst: list[Line], strictness: Strictness, at: datetime) -> None:
        drafts = []
        for line in burst:
            claimed = {"claimed_at": line.at} if strictness == "note" else {}
            drafts.append(
                self.pen(store, line.counter).draft(line.verb, happened_at=line.at, **claimed, **line.fields)
            )
        pen = self.pen(store, 0)
        pen.at = at
        outcomes = pen.record(drafts, strictness).outcomes
        for draft, outcome in zip(drafts, outcomes, strict=True):
            if not outcome.recorded:
                raise RuntimeError(f"The book refuses {draft}: {', '.join(outcome.codes)}")

    def pen(self, store: str, counter: int) -> Pen:
        """The pen of one of the store's counters, with a count of its own."""
        if (store, counter) not in self._pens:
            device = self._device(store, counter)
            self._pens[store, counter] = Pen(
                self.farm.writers[store], store, datetime.min, device=device, numbers=count(1)
            )
        return self._pens[store, counter]

    def _device(self, store: str, counter: int) -> UUID:
        name = f"{Store.objects.get(pk=store).name}, counter {counter + 1}"
        device, _ = Device.objects.get_or_create(
            name=name,
            store_id=store,
            kind=Device.Kind.COUNTER,
            defaults={"id": UUID(int=self.random.getrandbits(128), version=4)},
        )
        return device.pk


def _bursts(lines: Iterable[Line]) -> Iterator[list[Line]]:
    """Lines in order, about a hundred at a time without a long pause between them; an act is never split."""
    burst: list[Line] = []
    for _, group in groupby(lines, key=lambda line: line.fields.get("act") or line.fields["id"]):
        together = list(group)
        if burst and (len(burst) >= BURST or together[0].at - burst[-1].at > PAUSE):
            yield burst
            burst = []
        burst += together
    if burst:
        yield burst
