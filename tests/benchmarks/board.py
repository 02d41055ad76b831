"""What is due, on the board and by the API: against the bare indexed SQL for the same rows, and as the farm grows.

    python -m tests.benchmarks board                                  30,000 items, in about two minutes
    SHEDBOOK_BENCH_ITEMS=1000000 python -m tests.benchmarks board     the long form
    SHEDBOOK_BENCH_ITEMS=100000 SHEDBOOK_BENCH_OUT=5000 ...           the issue's

Of them `SHEDBOOK_BENCH_OUT` (5,000) are out, three in five overdue, one due within two hours. The rows are made in
bulk, around the ledger: nothing here reads an entry. "Bare" is one statement by the partial index for the very rows and
columns, and a template without a tag of the same size.
"""

import json
import os
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import islice
from typing import Any

from tests.benchmarks.report import Report
from tests.benchmarks.timing import alternate

OUT = int(os.environ.get("SHEDBOOK_BENCH_OUT", "5000"))
SMALL, BIG = 10_000, int(os.environ.get("SHEDBOOK_BENCH_ITEMS", "30000"))
CREWS, A_PAGE, ROUNDS = 40, 500, 15
AT_ONCE = 2_000
KINDS = ("clippers", "clippers", "gloves", "bag")


def run(report: Report) -> None:
    yard = Yard(*found())
    yard.grow(SMALL)
    small = measured(yard, report, SMALL)
    if BIG > SMALL:
        yard.grow(BIG)
        big = measured(yard, report, BIG)
        for name, seconds in big.items():
            figure = f"{name}: ms with {BIG:,} items, by that with {SMALL:,}"
            report.ratio(figure, seconds * 1000, small[name] * 1000, unit="ms", at_most=1.5)


def measured(yard: "Yard", report: Report, size: int) -> dict[str, float]:
    """Judge both surfaces at this size; the seconds that each takes."""
    from django.template import Context, Engine

    found = {}
    for name, ours, bare in (
        ("board, due part", yard.board, yard.rows),
        (f"/api/overdue/, {A_PAGE} a page", yard.api, yard.rows_of_a_page),
    ):
        report.limit(f"{name}: queries with {size:,} items", queries(ours), at_most=6)
        static = Engine().from_string(ours().replace("{", "(").replace("%", ""))

        def plain(rows: Callable[[], Any] = bare, static: Any = static) -> None:
            rows()
            static.render(Context())

        our_times, bare_times = alternate(ours, plain, rounds=ROUNDS)
        figure = f"{name}: ms with {size:,} items, {OUT:,} out"
        report.ratio(figure, our_times.median * 1000, bare_times.median * 1000, unit="ms", at_most=3)
        found[name] = our_times.median
    return found


def queries(ours: Callable[[], str]) -> int:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    ours()
    with CaptureQueriesContext(connection) as captured:
        ours()
    return len(captured)


@dataclass
class Yard:
    """A farm with ever more gear, of which the same pieces are out. `client` is Rosa's."""

    farm: Any
    client: Any
    items: int = 0

    def board(self) -> str:
        return self._got("/board/due/")

    def api(self) -> str:
        return self._got(f"/api/overdue/?limit={A_PAGE}")

    def _got(self, address: str) -> str:
        answer = self.client.get(address, headers={"host": "localhost"})
        assert answer.status_code == 200, answer.content
        return str(answer.content.decode())

    def rows(self) -> list[Any]:
        from equipment.models.overdue import COMING, FEW

        return self._selected(FEW, [], COMING, "")

    def rows_of_a_page(self) -> list[Any]:
        from django.utils import timezone

        from equipment.models.overdue import ALL, around

        page = f" ORDER BY state.due_at, state.item_id LIMIT {A_PAGE}"
        return self._selected(ALL, around(timezone.now()), timedelta(0), page)

    def _selected(self, columns: str, first: list[Any], within: timedelta, page: str) -> list[Any]:
        from django.db import connection
        from django.utils import timezone

        from equipment.models.overdue import question

        asked, values = question(columns, None, timezone.now() + within)
        with connection.cursor() as cursor:
            cursor.execute(asked + page, [*first, *values])
            return list(cursor.fetchall())

    def grow(self, wanted: int) -> None:
        """More gear until there is so much; the first `OUT` pieces are out, the rest in the store."""
        from django.db import connection
        from django.utils import timezone

        from equipment.models import Item, ItemState

        now, numbers = timezone.now(), iter(range(self.items, wanted))
        while some := list(islice(numbers, AT_ONCE)):
            rows = list(self._made(some, now))
            Item.objects.bulk_create([Item(pk=row.pk, kind_id=KINDS[n % 4]) for row, n in rows])
            ItemState.objects.bulk_create([row for row, _ in rows])
        self.items = wanted
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")

    def _made(self, numbers: list[int], now: datetime) -> Iterator[tuple[Any, int]]:
        from crews.models import Crew, Picker
        from equipment.actions.writing import new_id
        from equipment.models import ItemState

        crews = list(
            Crew.objects.filter(name__startswith="Bench").order_by("pk").values_list("pk", flat=True)
        )
        pickers = list(
            Picker.objects.filter(number__startswith="b").order_by("pk").values_list("pk", flat=True)
        )
        for n in numbers:
            out = n < OUT
            crew = n % CREWS
            at = due_at(n, now)
            holder = {"picker_id": pickers[n % len(pickers)], "crew_id": crews[crew]} if out else {}
            yield (
                ItemState(
                    item_id=new_id(),
                    tag=f"{KINDS[n % 4][:2].upper()}{n:07}",
                    place="picker" if out else "store",
                    store_id="A",
                    since=now,
                    fit=not out,
                    reasons=["already_out"] if out else [],
                    due_at=at,
                    holds_at=at,
                    due=dues(KINDS[n % 4], at),
                    fold={"state": {"kind": KINDS[n % 4], "place": "picker", "padding": "x" * 900}},
                    **holder,
                ),
                n,
            )


def due_at(n: int, now: datetime) -> datetime:
    """A crew's clippers fall due together, as their visits have it; everything else at a time of its own."""
    spread = n % CREWS if KINDS[n % 4] == "clippers" else n
    fifth = n // CREWS % 5
    hours = {0: -5, 1: -3, 2: -1, 3: 1, 4: 5}[fifth]
    return now + timedelta(hours=hours, minutes=spread % 50, microseconds=spread)


def dues(kind: str, at: datetime) -> list[dict[str, Any]]:
    method = "sterilise" if kind == "clippers" else "wash"
    clean = {"what": "clean", "name": method, "at": at.isoformat(), "holds": True, "cause": "hours"}
    looked = {"what": "inspect", "name": f"{kind}_daily", "at": None, "holds": False, "cause": None}
    return [clean, looked]


def found() -> tuple[Any, Any]:
    """The small farm of the tests with forty crews more, their pickers with cards, each crew on a visit."""
    from django.test import Client
    from django.utils import timezone

    from crews.models import Badge, BadgeLoan, Crew, DayPlan, Picker, Store
    from equipment.actions.writing import new_id
    from equipment.models import CrewState, Visit
    from tests.benchmarks.farm import small_farm

    farm = small_farm()
    now = timezone.now()
    store = Store.objects.get(pk="A")
    crews = Crew.objects.bulk_create(
        Crew(code=f"CWB{n:03}", name=f"Bench crew {n}", store=store) for n in range(CREWS)
    )
    fold = json.loads('{"state": {"checked_at": null}}')
    CrewState.objects.bulk_create(CrewState(crew=crew, fold=fold) for crew in crews)
    DayPlan.objects.bulk_create(
        DayPlan(date=timezone.localdate(), crew=crew, block_id="N4") for crew in crews
    )
    Visit.objects.bulk_create(
        Visit(id=new_id(), crew=crew, block_id="N4", at=now - timedelta(hours=5)) for crew in crews
    )
    pickers = Picker.objects.bulk_create(
        Picker(number=f"b{n}", name=f"Picker {n}") for n in range(CREWS * 30)
    )
    cards = Badge.objects.bulk_create(Badge(code=f"PKB{n:05}") for n in range(len(pickers)))
    BadgeLoan.objects.bulk_create(
        BadgeLoan(badge=card, picker=picker, from_day=timezone.localdate() - timedelta(days=9))
        for card, picker in zip(cards, pickers, strict=True)
    )
    client = Client()
    client.force_login(farm.users["rosa"], backend="crews.signing_in.RoleBackend")
    return farm, client
