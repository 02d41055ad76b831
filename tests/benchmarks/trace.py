"""The disease trace: the same case in books of different sizes, against its bare SQL, and the core against networkx.

    python -m tests.benchmarks trace                                 100,000 and 1,000,000 entries
    SHEDBOOK_TRACE=10000000 python -m tests.benchmarks trace         the long form: a quarter of an hour, and 8 GB

An estate group's years: crews in groups of four that share four blocks, thirty pairs of clippers a crew, handed out,
returned and dipped every working day. A bigger book has more crews and more days before; the last weeks of the first
group, and so the case, are the same in each. The rows are made in bulk, around the ledger: nothing here reads a digest.
"Bare" are the very statements of the trace, executed and fetched, and nothing made of their rows. A size is compared
with another in units of the core's own work, timed in turns, so that the machine's mood is in neither.
"""

import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from itertools import count, islice
from typing import Any

from tests import college_messages
from tests.benchmarks.report import Report
from tests.benchmarks.timing import alternate, once

SIZES = {100_000: (12, 90), 1_000_000: (40, 270), 10_000_000: (120, 900)}
"""Entries, by about -> crews and days."""
BIGGEST = int(os.environ.get("SHEDBOOK_TRACE", "1000000"))
PAIRS, SHARING, AT_ONCE, ROUNDS = 30, 4, 20_000, 15
CASE_DAYS = 14
ENTRY = (
    "INSERT INTO equipment_entry (id, v, store_id, position, verb, detail, item_id, crew_id, picker_id, block_id,"
    " by_id, device_id, device_seq, happened_at, recorded_at, digest)"
    " VALUES (%s, 1, %s, %s, %s, %s, %s, %s, %s, %s, %s, %s, %s, %s, %s, '')"
)
VISIT = "INSERT INTO equipment_visit (id, crew_id, block_id, at, until, cause) VALUES (%s, %s, %s, %s, %s, 'left')"
DIP = '{"method": "sterilise", "recipe": "clippers_daily_bleach", "seconds": 640, "kills": ["citrus_canker"]}'


def run(report: Report) -> None:
    _core(report)
    estate = Estate()
    costs = {}
    for size in sorted(size for size in SIZES if size <= BIGGEST):
        estate.grow(*SIZES[size])
        costs[size] = _measured(report, estate)
    (first, small), *bigger = costs.items()
    for size, cost in bigger:
        figure = f"trace: cost at {size:,} entries by that at {first:,}"
        report.ratio(figure, cost, small, unit="x core", at_most=1.3)


def _core(report: Report) -> None:
    from equipment.domain.trace import earliest_arrivals
    from tests.domain.test_trace import laid_out_in_time

    messages, seeds = college_messages.messages(), {"9": 152_096}
    ours = min(once(lambda: earliest_arrivals(messages, seeds)) for _ in range(5))
    theirs = once(lambda: laid_out_in_time(messages, seeds, strict=True))
    figure = "earliest_arrivals on CollegeMsg, against networkx"
    report.ratio(figure, 1 / ours, 1 / theirs, unit="/s", at_least=5)


def _measured(report: Report, estate: "Estate") -> float:
    """Judge it against its bare statements; its cost in units of the core's work."""
    from equipment.domain.trace import earliest_arrivals

    found, asked = estate.asked()
    entries = f"{estate.entries:,} entries"
    print(
        f"   {entries}: {len(found.pieces)} pieces, {len(found.blocks)} blocks, {len(asked)} statements",
        flush=True,
    )
    ours, bare = alternate(estate.trace, lambda: estate.probe(asked), rounds=ROUNDS)
    report.ratio(f"trace: ms in {entries}", ours.median * 1000, bare.median * 1000, unit="ms", at_most=3)
    some = college_messages.messages()[:20_000]
    ours, core = alternate(estate.trace, lambda: earliest_arrivals(some, {"9": 152_096}), rounds=ROUNDS)
    return ours.median / core.median


@dataclass
class Estate:
    """A farm of its own in the scratch book. `last` is the last day; a crew's days go back from there."""

    crews: int = 0
    days: int = 0
    entries: int = 0
    numbers: Iterator[int] = field(default_factory=lambda: count(1))

    def __post_init__(self) -> None:
        from django.utils import timezone

        from crews.models import Device, Store, User
        from equipment.actions.load_catalogue import load_catalogue

        load_catalogue()
        self.midnight = timezone.make_aware(datetime.combine(timezone.localdate(), time.min)) - timedelta(
            days=1
        )
        self.store = Store.objects.create(code="TRACE", name="Trace").pk
        self.by = User.objects.create(username="trace").pk
        self.device = _uuid(
            Device.objects.create(kind=Device.Kind.COUNTER, name="Trace", store_id=self.store).pk
        )

    def grow(self, crews: int, days: int) -> None:
        """Days before those that are there for the crews that are there, and more crews with all the days."""
        from django.db import connection

        for crew in range(crews):
            fresh = crew >= self.crews
            gear = self._new_crew(crew) if fresh else self._gear(crew)
            self._insert(self._lines(crew, gear, 0 if fresh else self.days, days))
        self.crews, self.days = crews, days
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")

    def _new_crew(self, number: int) -> list[Any]:
        from crews.models import Block, Crew
        from equipment.actions.writing import new_id
        from equipment.models import Item, ItemState

        code = f"CWT{number:03}"
        Crew.objects.create(code=code, name=f"Trace crew {number}", store_id=self.store)
        for turn in range(SHARING):
            Block.objects.get_or_create(code=_block(number, turn))
        items = Item.objects.bulk_create([Item(id=new_id(), kind_id="clippers") for _ in range(PAIRS)])
        ItemState.objects.bulk_create(
            ItemState(item=item, tag=f"CLT{number:03}{n:02}", place="store", store_id=self.store)
            for n, item in enumerate(items)
        )
        return [_uuid(item.pk) for item in items]

    def _gear(self, number: int) -> list[Any]:
        from equipment.models import ItemState

        rows = ItemState.objects.filter(tag__startswith=f"CLT{number:03}").order_by("tag")
        return [_uuid(item) for item in rows.values_list("item", flat=True)]

    def _insert(self, lines: Iterator[tuple[str, tuple[Any, ...]]]) -> None:
        from django.db import connection, transaction

        with transaction.atomic(), connection.cursor() as cursor:
            while some := list(islice(lines, AT_ONCE)):
                for text in (ENTRY, VISIT):
                    cursor.executemany(text, [values for kind, values in some if kind is text])
                self.entries += sum(1 for kind, _ in some if kind is ENTRY)

    def _lines(
        self, crew: int, gear: list[Any], since: int, until: int
    ) -> Iterator[tuple[str, tuple[Any, ...]]]:
        """The days from `until` to `since` before the last one, each in order."""
        code = f"CWT{crew:03}"
        for ago in range(until - 1, since - 1, -1):
            day = self.midnight - timedelta(days=ago)
            for n, item in enumerate(gear):
                yield self._entry(day + timedelta(hours=5, seconds=n), "handed_out", code, item)
            for hour, nth in ((6, 0), (12, 1)):
                yield from self._visit(day + timedelta(hours=hour), code, _block(crew, ago + nth))
            for n, item in enumerate(gear):
                yield self._entry(day + timedelta(hours=16, seconds=n), "returned", code, item)
            for n, item in enumerate(gear):
                yield self._entry(day + timedelta(hours=17, seconds=n), "cleaned", None, item, DIP)

    def _visit(self, at: datetime, crew: str, block: str) -> Iterator[tuple[str, tuple[Any, ...]]]:
        until = at + timedelta(hours=5)
        yield self._entry(at, "arrived", crew, None, f'{{"block": "{block}"}}', block)
        yield VISIT, (_uuid_of(next(self.numbers)), crew, block, _time(at), _time(until))
        yield self._entry(until, "left", crew, None)

    def _entry(
        self,
        at: datetime,
        verb: str,
        crew: str | None,
        item: Any,
        detail: str = "{}",
        block: str | None = None,
    ) -> tuple[str, tuple[Any, ...]]:
        number, when = next(self.numbers), _time(at)
        place = (_uuid_of(number), self.store, number, verb, detail, item, crew, None, block)
        return ENTRY, (*place, self.by, self.device, number, when, when)

    def trace(self) -> Any:
        from equipment.actions.trace.running import disease_of, run
        from equipment.domain.disease_trace import Question

        disease = disease_of("exocortis")
        assert disease is not None
        since = self.midnight - timedelta(days=CASE_DAYS)
        return run(disease, Question(_block(0, CASE_DAYS), since, self.midnight + timedelta(days=1)))

    def asked(self) -> tuple[Any, list[tuple[str, Any]]]:
        """What the trace finds, and the statements that it asks."""
        from django.db import connection

        asked: list[tuple[str, Any]] = []

        def noted(execute: Callable[..., Any], text: str, values: Any, many: bool, context: Any) -> Any:
            asked.append((text, values))
            return execute(text, values, many, context)

        with connection.execute_wrapper(noted):
            return self.trace(), asked

    def probe(self, asked: list[tuple[str, Any]]) -> None:
        from django.db import connection

        for text, values in asked:
            with connection.cursor() as cursor:
                cursor.execute(text, values)
                cursor.fetchall()


def _block(crew: int, days: int) -> str:
    """The blocks of a group of crews, which they take in turns."""
    return f"T{crew // SHARING:03}{'NESW'[(crew + days) % SHARING]}"


def _uuid(value: Any) -> Any:
    from django.db import connection
    from django.db.models import UUIDField

    return UUIDField().get_db_prep_value(value, connection)


def _uuid_of(number: int) -> Any:
    from uuid import UUID

    return _uuid(UUID(int=7 << 76 | 2 << 62 | number))


def _time(value: datetime) -> Any:
    from django.db import connection
    from django.db.models import DateTimeField

    return DateTimeField().get_db_prep_value(value, connection)
