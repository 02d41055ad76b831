"""Receiving: phones that come back with all their day, 500 entries a request, through the whole stack of a real server.

    python -m tests.benchmarks sync

"Bare" reads the same requests, validates each entry as the API does, makes its canonical JSON by the library (RFC 8785)
and its digest, and inserts the same rows by the ORM into the same table, one transaction a request; it resolves
nothing, folds nothing and answers nothing. Its rows are of twins, items and a crew that nobody else names, so that
neither finds the other's lines.
"""

import json
import threading
from collections.abc import Sequence
from dataclasses import dataclass, field
from hashlib import sha256
from itertools import count
from typing import Any
from uuid import UUID

import rfc8785

from tests.benchmarks import wire
from tests.benchmarks.counter import OURS, Morning, signed_in
from tests.benchmarks.farm import small_farm
from tests.benchmarks.orchard import BATCH, Phone, found_orchard
from tests.benchmarks.report import Report
from tests.benchmarks.timing import once, percentile
from tests.cast import Farm

AT_LEAST, LONGEST_WAIT = 0.4, 150
SCANS_A_SECOND, SCANS, COUNTERS = 20, 400, 8
TWINS = 1000


def run(report: Report) -> None:
    from equipment.actions.load_catalogue import load_catalogue

    farm = small_farm()
    load_catalogue()
    phones = found_orchard(farm)
    bare, morning = bare_of(farm), Morning(farm)
    with wire.server("config.settings") as port:
        first = [asked(phone, 0) for phone in phones]
        ours, theirs = in_turns(port, phones, first, bare)
        again = sum(once(lambda body=body: answered(port, body, "known")) for body in first)
        waits = scanned_meanwhile(port, morning, [asked(phone, 1) for phone in phones])
    entries = len(phones) * BATCH
    figure = f"sync: {entries:,} entries in batches of {BATCH}, against validating and inserting them"
    report.ratio(figure, entries / ours, entries / theirs, unit="/s", at_least=AT_LEAST)
    report.ratio("sync: sending them all again, by the first time", again, ours, unit="s", at_most=1)
    p99 = percentile(waits, 99) * 1000
    report.limit(f"sync: p99 of {len(waits)} counter scans meanwhile", p99, unit="ms", at_most=LONGEST_WAIT)


def asked(phone: Phone, number: int) -> bytes:
    return wire.request(signed_in(phone.user, OURS), phone.batch(number))


def answered(port: int, body: bytes, outcome: str) -> None:
    """Send it, on a line of its own; every one of its entries must come to this."""
    for answer in json.loads(wire.Client(port).exchange(body))["answers"]:
        if answer["outcome"] != outcome:
            raise RuntimeError(f"Not {outcome}: {answer}")


def in_turns(
    port: int, phones: Sequence[Phone], bodies: Sequence[bytes], bare: "Bare"
) -> tuple[float, float]:
    """Seconds that we take, and that the bare loop takes, a request of ours and one of its own in turns."""
    ours = theirs = 0.0
    for phone, body in zip(phones, bodies, strict=True):
        ours += once(lambda body=body: answered(port, body, "recorded"))
        text = body.partition(b"\r\n\r\n")[2]
        rows = bare.rows(phone.entries[:BATCH])
        theirs += once(lambda text=text, rows=rows: bare.take(text, rows))
    return ours, theirs


def bare_of(farm: Farm) -> "Bare":
    from equipment.models import ItemState

    tags = farm.gear("clippers", TWINS, store="B")
    return Bare(
        list(ItemState.objects.filter(tag__in=tags).values_list("item", flat=True)), farm.crews["blue"].pk
    )


@dataclass
class Bare:
    """`take` is what is timed; `rows` are the columns of what we recorded, of twins and with ids of their own."""

    items: Sequence[UUID]
    crew: str
    position: "count[int]" = field(default_factory=lambda: count(1_000_000))

    def rows(self, entries: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
        from equipment.models import Entry

        stored = Entry.objects.filter(pk__in=[entry["id"] for entry in entries]).order_by("position")
        rows = [self._of_twins(row) for row in stored.values()]
        assert len(rows) == len(entries)
        return rows

    def _of_twins(self, row: dict[str, Any]) -> dict[str, Any]:
        from equipment.actions.writing import new_id

        item, bath = row["item_id"], row["bath"]
        twins = {
            "item_id": item and self.items[item.int % len(self.items)],
            "crew_id": row["crew_id"] and self.crew,
            "bath": bath and UUID(int=bath.int ^ 1),
        }
        return row | twins | {"id": new_id(), "store_id": "B", "position": next(self.position)}

    def take(self, text: bytes, rows: Sequence[dict[str, Any]]) -> None:
        from equipment.actions import raw
        from equipment.api.entries import BATCH as BATCH_IN
        from equipment.domain import chain
        from equipment.ledger import columns_of, writing
        from equipment.models import Entry

        for entry in BATCH_IN.run_validation(json.loads(text))["entries"]:
            raw.read(entry)
        made = [Entry(**row) for row in rows]
        for entry in made:
            present = {name: value for name, value in columns_of(entry).items() if value is not None}
            entry.digest = sha256(rfc8785.dumps(chain.plain(present))).hexdigest()
        with writing():
            Entry.objects.bulk_create(made)


def scanned_meanwhile(port: int, morning: Morning, bodies: Sequence[bytes]) -> list[float]:
    """Seconds of each scan, from when it was due, while a phone after the other sends all it has, without a pause."""
    waits: list[float] = []
    scans = morning.shares(SCANS // COUNTERS)
    counters = threading.Thread(target=lambda: waits.extend(wire.open_loop(port, scans, SCANS_A_SECOND)))
    counters.start()
    for body in bodies:
        answered(port, body, "recorded")
    counters.join()
    return waits
