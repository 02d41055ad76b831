"""The counter: one hand-out or return a request, through the whole stack, at a real server process, signed in.

`SHEDBOOK_BENCH_ENTRIES` is how many entries the big book has (100,000 where it is not set; the issue of record is
1,000,000). Costs at two sizes are each taken against the bare view in the same minute, so that the machine's mood,
which changes while the book is filled, is in neither.
"""

import os
import statistics
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import timedelta
from itertools import count
from typing import Any
from uuid import UUID

from django.db import connection
from django.test import Client as InProcess
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from crews.models import Device, Picker, User
from equipment.actions.change_crew import join
from equipment.actions.lend_badge import lend_new
from equipment.actions.writing import new_id
from equipment.models import ChainHead, Entry, ItemState
from tests.benchmarks import wire
from tests.benchmarks.farm import small_farm
from tests.benchmarks.report import Report
from tests.benchmarks.timing import percentile
from tests.cast import Farm

CLIENTS = 8
ROUNDS = 5
A_ROUND = 60  # requests a client
SMALL, BIG = 10_000, int(os.environ.get("SHEDBOOK_BENCH_ENTRIES", "100000"))
SCANS_A_SECOND, SCANS = 20, 600
PIECES = 1200
OURS, BARE = "crews.signing_in.RoleBackend", "django.contrib.auth.backends.ModelBackend"


def run(report: Report) -> None:
    morning = Morning(small_farm())
    report.limit("queries of a hand-out beside BEGIN and COMMIT", queries(morning), at_most=10)
    fill(morning, SMALL)
    with both() as (ours, bare):
        small, bare_small = throughputs(morning, ours, bare)
        waits = wire.open_loop(ours, morning.shares(SCANS // CLIENTS), SCANS_A_SECOND)
    report.ratio("counter: 8 clients saturating", small, bare_small, unit="/s", at_least=0.5)
    p99 = percentile(waits, 99) * 1000
    report.limit(f"counter: p99 at {SCANS_A_SECOND} scans a second", p99, unit="ms", at_most=60)
    fill(morning, BIG)
    with both() as (ours, bare):
        big, bare_big = throughputs(morning, ours, bare)
    figure = f"counter: cost at {BIG:,} entries, by that at {SMALL:,} (in bare views)"
    report.ratio(figure, bare_big / big, bare_small / small, at_most=1.2)


@contextmanager
def both() -> Iterator[tuple[int, int]]:
    with wire.server("config.settings") as ours, wire.server("tests.benchmarks.bare") as bare:
        yield ours, bare


def throughputs(morning: "Morning", ours: int, bare: int) -> tuple[float, float]:
    """Medians of both over rounds in turns, after one that does not count."""
    found: tuple[list[float], list[float]] = ([], [])
    for number in range(ROUNDS + 1):
        for place in (0, 1) if number % 2 else (1, 0):
            shares = morning.shares(A_ROUND, recorded=place == 0)
            speed = wire.saturated((ours, bare)[place], shares)
            found[place].append(speed)
    return statistics.median(found[0][1:]), statistics.median(found[1][1:])


@dataclass
class Morning:
    """Gear, pickers and counters, and what each counter scans next: every piece goes out and comes back in turn."""

    farm: Farm
    clients: int = CLIENTS
    tags: list[str] = field(default_factory=list)
    badges: list[str] = field(default_factory=list)
    out: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.tags = self.farm.gear("bag", PIECES, days_ago=60)
        pickers = Picker.objects.bulk_create(Picker(number=f"n{n}", name=f"Picker {n}") for n in range(240))
        self.badges = [b.pk for b in lend_new(pickers, (timezone.now() - timedelta(days=60)).date())]
        join(self.farm.pen(), pickers, self.farm.crews["red"], at=timezone.now() - timedelta(days=60))
        self.counters = [Device.objects.create(kind="counter", store_id="A") for _ in range(self.clients)]
        rosa = self.farm.users["rosa"]
        self.sessions = {True: signed_in(rosa, OURS), False: signed_in(rosa, BARE)}
        self._sequence = count(1)
        self._next = count()

    def shares(self, each: int, recorded: bool = True) -> list[list[bytes]]:
        """The scans of each client, which share no piece; `recorded` where they will change where the pieces are."""
        bodies = [[self.body(client, recorded) for _ in range(each)] for client in range(self.clients)]
        session = self.sessions[recorded]
        return [[wire.request(session, body) for body in share] for share in bodies]

    def body(self, client: int, recorded: bool = True) -> dict[str, Any]:
        number = next(self._next)
        mine = self.tags[client :: self.clients]
        tag = mine[number % len(mine)]
        verb, fields = "returned", {}
        if tag not in self.out:
            verb, fields = "handed_out", {"picker": self.badges[number % len(self.badges)]}
        self.out ^= {tag} if recorded else set()
        entry = self.farm.entry(verb, item=tag, device_seq=next(self._sequence), **fields)
        return self.farm.batch([entry], device=str(self.counters[client].pk))


def signed_in(user: User, backend: str) -> str:
    client = InProcess()
    client.force_login(user, backend=backend)
    return client.session.session_key or ""


def queries(morning: Morning) -> int:
    """How many statements one hand-out makes, the server being warm."""
    client = InProcess()
    client.force_login(morning.farm.users["rosa"], backend=OURS)
    for _ in range(2):
        with CaptureQueriesContext(connection) as captured:
            answer = client.post(
                "/api/entries/",
                morning.body(0),
                content_type="application/json",
                headers={"host": "localhost"},
            )
        assert answer.json()["answers"][0]["outcome"] == "recorded", answer.content
    statements = [query["sql"].split()[0].upper() for query in captured]
    return len([word for word in statements if word not in ("BEGIN", "COMMIT", "SAVEPOINT", "RELEASE")])


def fill(morning: Morning, wanted: int) -> None:
    """Lines of an earlier season until the book has so many: a piece out and back, day after day, all before now.

    Written straight into the table, with seals that mean nothing: it is the size that is measured.
    """
    head = ChainHead.objects.get(store="A")
    items = list(ItemState.objects.order_by("tag").values_list("item", flat=True))
    pickers = list(Picker.objects.order_by("pk").values_list("pk", flat=True))
    device, crew = UUID(int=0xBE7C), morning.farm.crews["red"].pk
    Device.objects.get_or_create(pk=device, defaults={"kind": "counter"})
    before = timezone.now() - timedelta(days=50)
    lacking = wanted - Entry.objects.count()
    for start in range(0, lacking, 10_000):
        Entry.objects.bulk_create(
            [
                Entry(
                    id=new_id(),
                    store_id="A",
                    position=head.position + 1 + n,
                    verb="returned" if n % 2 else "handed_out",
                    item_id=items[n // 2 % len(items)],
                    crew_id=crew,
                    picker_id=None if n % 2 else pickers[n % len(pickers)],
                    by_id=morning.farm.users["rosa"].pk,
                    device_id=device,
                    device_seq=head.position + n,
                    happened_at=before - timedelta(seconds=lacking - n),
                    claimed_at=before,
                    recorded_at=before,
                    sent_digest="0" * 64,
                    digest="0" * 64,
                )
                for n in range(start, min(start + 10_000, lacking))
            ],
            batch_size=2000,
        )
    if lacking > 0:
        ChainHead.objects.filter(store="A").update(position=head.position + lacking)
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")
