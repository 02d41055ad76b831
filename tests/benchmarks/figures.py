"""The figures over a big book: each one aggregate query, against a bare scan of the lines that it reads.

    python -m tests.benchmarks figures                                1,000,000 entries
    SHEDBOOK_FIGURES=100000 python -m tests.benchmarks figures        fewer

An estate group's season as in `trace`, with a picker to each handout and a spring that wears out now and then. "Bare"
is the same lines, grouped by their piece, counted and nothing more: no order, no visits, no hours.
"""

import os
from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any

from tests.benchmarks.report import Report
from tests.benchmarks.timing import alternate
from tests.benchmarks.trace import ENTRY, SIZES, Estate

SIZE = int(os.environ.get("SHEDBOOK_FIGURES", "1000000"))
ROUNDS = 3
BREAKS = 400
"""One handout in so many ends in a fault."""
BARE = """
SELECT item_id, COUNT(*), MIN(happened_at), MAX(happened_at), MAX(detail) FROM equipment_entry
WHERE verb IN (
    'handed_out', 'returned', 'moved', 'stowed', 'missed', 'found', 'fault_found', 'inspected', 'written_off'
)
GROUP BY item_id
"""


class Season(Estate):
    def __post_init__(self) -> None:
        from crews.models import Picker

        super().__post_init__()
        self.picker = Picker.objects.create(number="1", name="A picker").pk

    def _lines(
        self, crew: int, gear: list[Any], since: int, until: int
    ) -> Iterator[tuple[str, tuple[Any, ...]]]:
        for kind, values in super()._lines(crew, gear, since, until):
            if kind is ENTRY and values[3] == "handed_out":
                yield kind, (*values[:7], self.picker, *values[8:])
                if values[2] % BREAKS == 0:  # the position in the book
                    at = _moved(values[12])
                    fault = '{"fault": "clippers_worn_spring"}'
                    yield self._entry(at, "fault_found", values[6], values[5], fault)
            else:
                yield kind, values


def _moved(when: Any) -> Any:
    """Four hours after, from what the database was given."""
    from datetime import UTC, datetime

    at = datetime.fromisoformat(when) if isinstance(when, str) else when
    return (at if at.tzinfo else at.replace(tzinfo=UTC)) + timedelta(hours=4)


def run(report: Report) -> None:
    season = Season()
    season.grow(*SIZES[SIZE])
    for name, figure in _figures().items():
        queries = _queries(figure)
        print(f"   {name}: {len(queries)} statements, {season.entries:,} entries", flush=True)
        ours, bare = alternate(figure, _bare, rounds=ROUNDS)
        report.ratio(
            f"figures: {name}, ms in {season.entries:,} entries",
            ours.median * 1000,
            bare.median * 1000,
            unit="ms",
            at_most=12,
        )
        report.limit(f"figures: {name}, statements", len(queries), unit="", at_most=1)


def _figures() -> dict[str, Callable[[], Any]]:
    from django.utils import timezone

    from equipment.models import figures

    at = timezone.now()
    stopping, recent = figures.stopping(at), at - timedelta(days=28)
    today = timezone.localdate(at)
    return {
        "lives of all pieces": lambda: figures.lives(at, stopping),
        "lives of one kind": lambda: figures.lives(at, stopping, "clippers"),
        "use by crew": lambda: figures.use_by_crew(at, recent, stopping),
        "use by make": lambda: figures.use_by_make(at, recent, stopping),
        "busiest day": lambda: figures.busiest(at, recent),
        "costs": lambda: figures.costs(today - timedelta(days=400), today),
        "what left": lambda: figures.left(at),
        "stock": figures.stock,
    }


def _queries(figure: Callable[[], Any]) -> list[str]:
    from django.db import connection

    asked: list[str] = []

    def noted(execute: Callable[..., Any], text: str, values: Any, many: bool, context: Any) -> Any:
        asked.append(text)
        return execute(text, values, many, context)

    with connection.execute_wrapper(noted):
        figure()
    return asked


def _bare() -> None:
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute(BARE)
        cursor.fetchall()
