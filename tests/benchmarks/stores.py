"""Two stores on PostgreSQL, two web processes: what the counters of B meet while the book of A is held up.

    python -m tests.postgres -- python -m tests.benchmarks stores

Rounds in turns of two seconds: store B's counter scans, one hand-out or return after the other, alone, and while
somebody holds the head of store A's chain, with three counters of A waiting for it. Meanwhile pg_locks is looked at
again and again: besides those of A nobody may wait.
"""

import statistics
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import count, cycle
from typing import Any

from django.db import connections

from crews.models import Device
from tests.benchmarks import wire
from tests.benchmarks.counter import OURS, signed_in
from tests.benchmarks.farm import small_farm
from tests.benchmarks.report import Report
from tests.cast import Farm

SECONDS, ROUNDS, WAITING, AT_MOST = 2.0, 7, 3, 1.2


def run(report: Report) -> None:
    farm = small_farm()
    here = Counter(farm, "B", "cy")
    there = [Counter(farm, "A", "ana") for _ in range(WAITING)]
    alone, beside, others = [], [], 0
    with wire.server("config.settings") as port:
        scan(port, here)
        for number in range(ROUNDS):
            for held in (False, True) if number % 2 else (True, False):
                if held:
                    with held_up("A", port, there) as look:
                        beside.append(scan(port, here))
                        others = max(others, look())
                else:
                    alone.append(scan(port, here))
    figure = (
        "stores: a hand-out in store B while the chain of store A is locked for 2 s, by one when it is not"
    )
    report.ratio(
        figure,
        statistics.median(beside) * 1000,
        statistics.median(alone) * 1000,
        unit="ms",
        at_most=AT_MOST,
    )
    report.limit(
        "stores: connections that wait in pg_locks meanwhile, besides those of store A", others, at_most=0
    )


@dataclass
class Counter:
    """A counter of a store, with pieces that go out to one picker and come back in turn."""

    farm: Farm
    store: str
    picker: str
    numbers: Iterator[int] = field(default_factory=lambda: count(1))

    def __post_init__(self) -> None:
        self.device = str(Device.objects.create(kind=Device.Kind.COUNTER, store_id=self.store).pk)
        self.session = signed_in(self.farm.users["rosa"], OURS)
        tags = self.farm.gear("bag", 40, store=self.store)
        self.turns = cycle([(verb, tag) for verb in ("handed_out", "returned") for tag in tags])

    def scan(self) -> bytes:
        verb, tag = next(self.turns)
        who = {"picker": self.farm.badges[self.picker]} if verb == "handed_out" else {}
        entry = self.farm.entry(verb, item=tag, device_seq=next(self.numbers), **who)
        return wire.request(self.session, self.farm.batch([entry], store=self.store, device=self.device))


def scan(port: int, counter: Counter) -> float:
    """The median of what one after the other takes, in seconds."""
    client, took = wire.Client(port), []
    end = time.perf_counter() + SECONDS
    while (began := time.perf_counter()) < end:
        client.send(counter.scan())
        took.append(time.perf_counter() - began)
    client.socket.close()
    return statistics.median(took)


@contextmanager
def held_up(store: str, port: int, counters: list[Counter]) -> Iterator[Any]:
    """The store's head is locked and its counters wait for it; gives what tells how many others ever waited."""
    holder, watcher = (connections["default"].copy() for _ in range(2))
    holder.set_autocommit(False)
    over, most = threading.Event(), [0]
    try:
        with holder.cursor() as cursor:
            cursor.execute("SELECT 1 FROM equipment_chainhead WHERE store_id = %s FOR UPDATE", [store])
        sending = [threading.Thread(target=wire.Client(port).send, args=(each.scan(),)) for each in counters]
        for thread in sending:
            thread.start()
        watching = threading.Thread(target=watch, args=(watcher, len(counters), over, most))
        while waits(watcher) < len(counters):
            time.sleep(0.005)
        watching.start()
        yield lambda: most[0]
        over.set()
        watching.join()
    finally:
        holder.rollback()
        holder.close()
    for thread in sending:
        thread.join()


def watch(connection: Any, expected: int, over: threading.Event, most: list[int]) -> None:
    while not over.wait(0.02):
        most[0] = max(most[0], waits(connection) - expected)
    connection.close()


def waits(connection: Any) -> int:
    """How many connections wait for a lock."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT COUNT(DISTINCT pid) FROM pg_locks WHERE NOT granted")
        return int(cursor.fetchone()[0])
