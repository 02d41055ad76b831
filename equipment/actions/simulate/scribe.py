"""Writes what the simulation makes up: through the one writer, in bursts, as a counter would have written it then."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import count, groupby
from operator import itemgetter
from random import Random
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from crews.models import Device, Store, User
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
    by: User | None = None


@dataclass(slots=True)
class Scribe:
    """Lines wait until `record`; then they stand in the book in the order in which they happened."""

    farm: Farm
    random: Random
    written: int = 0
    # Whose phone has no line, and until when: what they write down is sent then.
    cut_off: dict[int, datetime] = field(default_factory=dict)
    _pens: dict[tuple[str, int, int], Pen] = field(default_factory=dict)
    _counts: dict[UUID, Iterator[int]] = field(default_factory=dict)
    _lines: list[Line] = field(default_factory=list)

    def line(
        self, at: datetime, store: str, verb: str, *, counter: int = 0, by: User | None = None, **fields: Any
    ) -> UUID:
        """Something that happened at `at` in front of a counter of `store`, or that somebody else than its storeman
        (`by`) wrote down on a phone; the id of its entry."""
        entry = self.new_id(at)
        self._lines.append(Line(at, store, counter, verb, {"id": entry, **fields}, by))
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
            here = [line for line in lines if line.store == store]
            at_once = _bursts(line for line in here if not self._kept(line))
            bursts = [(at or burst[-1].at + BREATH, burst, strictness) for burst in at_once]
            if kept := [line for line in here if self._kept(line)]:
                bursts.append((self._sent(kept[-1]), kept, "note"))
            for written, burst, strictly in sorted(bursts, key=itemgetter(0)):
                self._write(store, burst, strictly, written)
        self.written += len(lines)

    def _kept(self, line: Line) -> bool:
        return self._sent(line) > line.at

    def _sent(self, line: Line) -> datetime:
        return max(line.at, self.cut_off.get(line.by.pk, line.at)) if line.by else line.at

    def _write(self, store: str, burst: list[Line], strictness: Strictness, at: datetime) -> None:
        drafts = []
        for line in burst:
            claimed = {"claimed_at": line.at} if strictness == "note" else {}
            drafts.append(
                self.pen(store, line.counter, line.by).draft(
                    line.verb, happened_at=line.at, **claimed, **line.fields
                )
            )
        pen = self.pen(store, 0)
        pen.at = at
        outcomes = pen.record(drafts, strictness).outcomes
        for draft, outcome in zip(drafts, outcomes, strict=True):
            if not outcome.recorded:
                raise RuntimeError(f"The book refuses {draft}: {', '.join(outcome.codes)}")

    def pen(self, store: str, counter: int, by: User | None = None) -> Pen:
        """The pen of one of the store's counters, or of somebody's phone, with a count of its own."""
        key = store, counter, by.pk if by else 0
        if key not in self._pens:
            device = self._phone(by) if by else self._device(store, counter)
            # A phone that writes in the books of two stores counts on in both.
            numbers = self._counts.setdefault(device, count(1))
            writer = by or self.farm.writers[store]
            self._pens[key] = Pen(writer, store, datetime.min, device=device, numbers=numbers)
        return self._pens[key]

    def _phone(self, by: User) -> UUID:
        name = _("Phone of %(name)s") % {"name": by.get_full_name() or by.username}
        device, _made = Device.objects.get_or_create(
            name=name,
            owner=by,
            kind=Device.Kind.PHONE,
            defaults={"id": UUID(int=self.random.getrandbits(128), version=4)},
        )
        return device.pk

    def _device(self, store: str, counter: int) -> UUID:
        name = f"{Store.objects.get(pk=store).name}, counter {counter + 1}"
        device, _made = Device.objects.get_or_create(
            name=name,
            store_id=store,
            kind=Device.Kind.COUNTER,
            defaults={"id": UUID(int=self.random.getrandbits(128), version=4)},
        )
        return device.pk


def _bursts(lines: Iterable[Line]) -> Iterator[list[Line]]:
    """Lines in order, about a hundred at a time without a long pause between them; an act is never split."""
    burst: list[Line] = []
    for _key, group in groupby(lines, key=lambda line: line.fields.get("act") or line.fields["id"]):
        together = list(group)
        if burst and (len(burst) >= BURST or together[0].at - burst[-1].at > PAUSE):
            yield burst
            burst = []
        burst += together
    if burst:
        yield burst
