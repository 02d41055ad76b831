"""A crew comes into a block with sixty pieces out: one transaction, bounded questions, its time against bare writes.

    python -m tests.benchmarks clock
    SHEDBOOK_BENCH_OUT=200 python -m tests.benchmarks clock      another number of pieces

The clocks of all its pieces are derived anew, from their folds, the crew's visits and the rules. "Bare" writes as many
rows of the same tables in one transaction, by raw SQL with values at hand: a line, the chain's head, the crew's state,
a visit, and the due times of each piece.
"""

import os
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from tests.benchmarks.report import Report
from tests.benchmarks.timing import alternate

OUT = int(os.environ.get("SHEDBOOK_BENCH_OUT", "60"))
ROUNDS = 25
QUESTIONS, TIMES = 20, 20


def run(report: Report) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    morning = found()
    morning.arrive()
    with CaptureQueriesContext(connection) as captured:
        morning.arrive()
    words = [query["sql"].split()[0].upper() for query in captured]
    report.limit(f"arrived, {OUT} pieces out: transactions", words.count("BEGIN"), at_most=1)
    asked = sum(word not in ("BEGIN", "COMMIT") for word in words)
    report.limit(f"arrived, {OUT} pieces out: statements in it", asked, at_most=QUESTIONS)
    ours, bare = alternate(morning.arrive, morning.bare, rounds=ROUNDS)
    figure = f"arrived, {OUT} pieces out: ms, against bare writes of the same rows"
    report.ratio(figure, ours.median * 1000, bare.median * 1000, unit="ms", at_most=TIMES)


@dataclass
class Morning:
    """`at` moves on by a minute with each arrival, in the one block and the other in turns."""

    farm: Any
    items: list[UUID]
    at: datetime
    count: int = 0

    def arrive(self) -> None:
        from equipment.actions.visit import arrive
        from equipment.actions.writing import Pen

        self.count += 1
        self.at += timedelta(minutes=1)
        pen = Pen(self.farm.users["rosa"], "A", self.at)
        assert arrive(pen, self.farm.crews["red"].pk, ("N4", "S2")[self.count % 2]).recorded

    def bare(self) -> None:
        """Of the other crew, in the other store's book, so that it is in nobody's way."""
        from django.db import connection, transaction

        from equipment.actions.writing import new_id

        self.count += 1
        at = connection.ops.adapt_datetimefield_value(self.at)
        crew, own = self.farm.crews["blue"].pk, _key(new_id())
        common = (self.farm.users["rosa"].pk, _key(self.farm.device.pk))
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(ENTRY, [own, self.count, crew, *common, self.count, at, at, "0" * 64])
            cursor.execute(HEAD, [self.count, "0" * 64, own])
            cursor.execute(CREW, ['{"state": {}}', crew])
            cursor.execute(VISIT, [own, crew, at])
            cursor.executemany(PIECE, [(at, at, _key(item)) for item in self.items])


ENTRY = (
    "INSERT INTO equipment_entry (id, v, store_id, position, verb, detail, crew_id, block_id, by_id, device_id,"
    " device_seq, happened_at, recorded_at, digest)"
    " VALUES (%s, 1, 'B', %s, 'arrived', '{\"block\": \"N4\"}', %s, 'N4', %s, %s, %s, %s, %s, %s)"
)
HEAD = "UPDATE equipment_chainhead SET position = %s, digest = %s, entry_id = %s WHERE store_id = 'B'"
CREW = "UPDATE equipment_crewstate SET fold = %s WHERE crew_id = %s"
VISIT = "INSERT INTO equipment_visit (id, crew_id, block_id, at, cause) VALUES (%s, %s, 'N4', %s, '')"
# As much is written of a piece as ours writes: its fold and its due times.
PIECE = (
    "UPDATE equipment_itemstate SET fold = fold, due = due, void = void, reasons = reasons, due_at = %s, holds_at = %s"
    " WHERE item_id = %s"
)


def _key(value: UUID) -> Any:
    from django.db import connection
    from django.db.models import UUIDField

    return UUIDField().get_db_prep_value(value, connection)


def found() -> Morning:
    """Clippers of the red crew, dipped and handed out a day ago."""
    from django.utils import timezone

    from equipment.actions.load_catalogue import load_catalogue
    from equipment.models import ChainHead, CrewState, ItemState
    from tests.benchmarks.farm import small_farm
    from tests.mornings import ago, clippers, dipped, handed

    farm = small_farm()
    load_catalogue()
    tags = clippers(farm, OUT)
    dipped(farm, tags, ago(hours=20))
    handed(farm, tags, ago(hours=19))
    ChainHead.objects.get_or_create(store_id="B")
    CrewState.objects.get_or_create(crew=farm.crews["blue"])
    items = list(ItemState.objects.filter(tag__in=tags).values_list("item", flat=True))
    return Morning(farm, items, timezone.now() - timedelta(hours=18))
