"""`rebuild_states` against the pure domain fold of the same entries, already in memory: at least half its speed.

    python -m tests.benchmarks fold                              200,000 entries
    SHEDBOOK_FOLD=1000000 python -m tests.benchmarks fold        the long form

Each item has a life of 400 entries, about a season's: handed out and returned, now and then missed and found. The
entries are not sealed: nothing here reads a digest.
"""

import os
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from itertools import islice
from uuid import UUID

from tests.benchmarks.report import Report
from tests.benchmarks.timing import alternate

WANTED = 0.5
LIFE = 400
AT_ONCE = 5_000
ROUNDS = 5
START = datetime(2025, 1, 1, 4, 0, tzinfo=UTC)


def run(report: Report) -> None:
    from equipment.actions.rebuild_states import rebuild_states
    from equipment.domain import values
    from equipment.domain.fold import fold
    from equipment.domain.verbs import STEPS
    from equipment.models import histories

    write(int(os.environ.get("SHEDBOOK_FOLD", "200000")))
    starts = {"item": values.ItemState(), "crew": values.CrewState()}
    lives = [
        (starts[family], entries())
        for family in ("item", "crew")
        for part in histories.parts(family)
        for _, entries in histories.lives(family, part.keys)
    ]
    count = sum(len(entries) for _, entries in lives)

    def pure() -> None:
        for start, entries in lives:
            fold(entries, start, STEPS)

    ours, bare = alternate(rebuild_states, pure, rounds=ROUNDS)
    report.ratio(
        f"rebuild_states over {count:,} entries, against the bare fold",
        count / ours.median,
        count / bare.median,
        unit="entries/s",
        at_least=WANTED,
    )


def write(entries: int) -> None:
    """Put a book of so many entries into the scratch database, around the ledger, for speed."""
    from django.db import connection, transaction

    items, common = _farm(entries // LIFE)
    insert = (
        "INSERT INTO equipment_entry (id, v, store_id, position, verb, detail, item_id, crew_id, picker_id, by_id,"
        " device_id, device_seq, happened_at, recorded_at, digest)"
        " VALUES (%s, 1, %s, %s, %s, %s, %s, %s, %s, %s, %s, %s, %s, %s, '')"
    )
    rows = _rows(items, common)
    with transaction.atomic(), connection.cursor() as cursor:
        while some := list(islice(rows, AT_ONCE)):
            cursor.executemany(insert, some)


def _farm(items: int) -> tuple[list[UUID], dict[str, object]]:
    """A farm of its own beside whatever another benchmark has left, and so many registered items."""
    from crews.models import Crew, Device, Picker, Store, User
    from equipment.actions.load_catalogue import load_catalogue
    from equipment.actions.register import Run, register
    from equipment.actions.writing import Pen
    from equipment.models import ItemState, Kind

    load_catalogue()
    store = Store.objects.create(code="FOLD", name="Fold")
    user = User.objects.create(username="fold")
    crew = Crew.objects.create(code="CWFOLD", name="Fold", store=store)
    pickers = [Picker.objects.create(number=f"fold {n}", name=f"Fold {n}").pk for n in range(30)]
    device = Device.objects.create(kind=Device.Kind.COUNTER, name="Fold", store=store)
    pen = Pen(user, store.pk, START)
    for first in range(0, items, 1000):
        register(pen, [Run(Kind.objects.get(pk="clippers"), store.pk, min(1000, items - first))])
    made = list(ItemState.objects.filter(store=store).order_by("tag").values_list("pk", flat=True))
    return made, {"store": store.pk, "by": user.pk, "crew": crew.pk, "pickers": pickers, "device": device.pk}


def _rows(items: list[UUID], common: dict) -> Iterator[tuple]:
    """Rows in the order of the book: each morning and each evening, all the items."""
    from django.db import connection
    from django.db.models import DateTimeField, UUIDField

    from equipment.actions.writing import new_id

    def uuid(value: UUID) -> object:
        return UUIDField().get_db_prep_value(value, connection)

    def time(value: datetime) -> object:
        return DateTimeField().get_db_prep_value(value, connection)

    device, keys, position = uuid(common["device"]), [uuid(item) for item in items], len(items)
    for turn in range(LIFE - 1):
        for number, item in enumerate(keys):
            position += 1
            verb, detail = _happens(turn, number)
            picker = common["pickers"][number % 30] if verb == "handed_out" else None
            at = time(START + timedelta(hours=12 * turn + 1, seconds=number))
            yield (
                *(uuid(new_id()), common["store"], position, verb, detail, item, common["crew"], picker),
                *(common["by"], device, position, at, at),
            )


def _happens(turn: int, number: int) -> tuple[str, str]:
    """What happens to an item on this half-day."""
    lost = (turn - turn % 2 + number) % 50 == 0
    if turn % 2 == 0:
        return ("missed" if lost else "handed_out"), "{}"
    return ("found" if lost else "returned"), '{"wet": true}' if not lost and number % 21 == 0 else "{}"
