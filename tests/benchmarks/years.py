"""A sealed book of any size: the seasons of an estate of four stores, so that a benchmark can verify it like a farm's.

A group is a season of eight crews with 240 pairs of clippers of their own: handed out, returned and dipped on
each of its working days, two visits a day, a note now and then. About 100,000 entries. The lines are sealed as the
ledger seals them and written around it, for speed; the states are left to `rebuild_states`.
"""

import secrets
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from itertools import count, islice
from typing import Any

STORES = ("YEARS1", "YEARS2", "YEARS3", "YEARS4")
CREWS, PAIRS, DAYS, SEASONS, AT_ONCE, NOTED = 2, 30, 135, 10, 5_000, 50
DIP = {"method": "sterilise", "recipe": "clippers_daily_bleach", "seconds": 640, "kills": ["citrus_canker"]}
Line = dict[str, Any]


@dataclass
class Years:
    """An estate of its own in the scratch book. `entries` are all that were written, its gear's included."""

    entries: int = 0
    groups: int = 0
    numbers: Iterator[int] = field(default_factory=lambda: count(1))

    def __post_init__(self) -> None:
        from django.utils import timezone

        from crews.models import Block, Device, Picker, Store, User
        from equipment.actions.load_catalogue import load_catalogue

        load_catalogue()
        self.midnight = timezone.make_aware(datetime.combine(timezone.localdate(), time.min))
        self.by = User.objects.create(username="years")
        for code in STORES:
            Store.objects.create(code=code, name=code.capitalize())
        self.device = Device.objects.create(kind=Device.Kind.COUNTER, name="Years", store_id=STORES[0]).pk
        self.blocks = [Block.objects.create(code=f"Y{n}").pk for n in range(8)]
        self.pickers = [Picker.objects.create(number=f"years {n}", name=f"Years {n}").pk for n in range(240)]

    def grow(self, wanted: int) -> None:
        """Write groups until there are at least so many entries."""
        from django.db import connection

        while self.entries < wanted:
            self._group()
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")

    def _group(self) -> None:
        first = self.midnight - timedelta(days=(DAYS + 10) * (1 + self.groups % SEASONS))
        for store in STORES:
            lines = self._season(store, first)
            while some := list(islice(lines, AT_ONCE)):
                self._write(store, some)
        self.groups += 1

    def _season(self, store: str, first: datetime) -> Iterator[Line]:
        """What the crews of a store do, day by day, in the order of the book."""
        teams = {f"CW{store}G{self.groups}N{n}": self._gear(store, first) for n in range(CREWS)}
        self._found(store, teams)
        for nth in range(DAYS):
            day = first + timedelta(days=1 + nth)
            for crew, gear in teams.items():
                yield from self._day(day, crew, gear, self.blocks[nth % 4 : nth % 4 + 2])

    def _found(self, store: str, teams: dict[str, list[Any]]) -> None:
        from crews.models import Crew

        Crew.objects.bulk_create(Crew(code=code, name=code.capitalize(), store_id=store) for code in teams)

    def _gear(self, store: str, at: datetime) -> list[Any]:
        from equipment.actions.register import Run, register
        from equipment.actions.writing import Pen
        from equipment.models import Kind, Label

        self.entries += PAIRS
        tags = register(Pen(self.by, store, at), [Run(Kind.objects.get(pk="clippers"), store, PAIRS)])
        return list(Label.objects.filter(code__in=tags).order_by("code").values_list("item", flat=True))

    def _day(self, day: datetime, crew: str, gear: list[Any], blocks: list[str]) -> Iterator[Line]:
        for n, item in enumerate(gear):
            picker = self.pickers[n % len(self.pickers)]
            at = day + timedelta(hours=5, seconds=n)
            yield {"happened_at": at, "verb": "handed_out", "item": item, "crew": crew, "picker": picker}
        for hour, block in zip((6, 11), blocks, strict=True):
            at = day + timedelta(hours=hour)
            yield {
                "happened_at": at,
                "verb": "arrived",
                "crew": crew,
                "block": block,
                "detail": {"block": block},
            }
            yield {"happened_at": at + timedelta(hours=4), "verb": "left", "crew": crew}
        for n, item in enumerate(gear):
            at = day + timedelta(hours=16, seconds=n)
            yield {"happened_at": at, "verb": "returned", "item": item, "crew": crew}
        for n, item in enumerate(gear):
            yield {
                "happened_at": day + timedelta(hours=17, seconds=n),
                "verb": "cleaned",
                "item": item,
                "detail": DIP,
            }

    def _write(self, store: str, lines: list[Line]) -> None:
        from django.db import transaction

        from equipment.models import ChainHead, Entry, Note, direct

        head = ChainHead.objects.get(store=store)
        notes: list[Note] = []
        with transaction.atomic():
            direct.insert(Entry, [self._sealed(head, line, notes) for line in lines])
            Note.objects.bulk_create(notes)
            head.save()
        self.entries += len(lines)

    def _sealed(self, head: Any, line: Line, notes: list[Any]) -> Line:
        from equipment.actions.writing import new_id
        from equipment.domain import chain
        from equipment.models import Note

        number, own = next(self.numbers), new_id()
        entry = EMPTY | line | {"id": own, "store": head.store_id, "position": head.position + 1}
        entry |= {
            "by": self.by.pk,
            "device": self.device,
            "device_seq": number,
            "recorded_at": line["happened_at"],
        }
        if number % NOTED == 0:
            salt, text = secrets.token_hex(16), f"Scanned twice, counter {number % 7}."
            entry["note_digest"] = chain.note_digest(salt, text)
            notes.append(Note(entry_id=own, salt=salt, text=text))
        entry["digest"] = chain.seal(head.digest, entry)
        head.position, head.digest, head.entry_id = head.position + 1, entry["digest"], own
        return entry


EMPTY: Line = {
    "v": 1, "detail": {}, "item": None, "crew": None, "bath": None, "lot": None, "picker": None, "block": None,
    "act": None, "claimed_at": None, "note_digest": None, "sent_digest": "0" * 64,
}  # fmt: skip
