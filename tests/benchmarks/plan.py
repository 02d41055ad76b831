"""The evening plan for an estate: 20 crews, 800 pickers, 6,000 items, against the bare reading of the same rows.

The rows are made in bulk, around the ledger, but the mends that the minutes are read from. "Bare" is what nobody can do
without: one statement each for the plans, the members with their sizes, and the pieces with what is due on them, every
row fetched and its JSON read.
"""

import json
from collections import Counter
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import uuid4

from tests.benchmarks.report import Report
from tests.benchmarks.timing import alternate

CREWS, PICKERS, ITEMS, ROUNDS = 20, 800, 6_000, 7
SHARES = {
    "clippers": 20,
    "bag": 19,
    "gloves": 19,
    "goggles": 19,
    "ladder": 14,
    "water_container": 5,
    "toilet": 4,
}
SIZES = ("S", "M", "L", "XL")


def run(report: Report) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext
    from django.utils import timezone

    from equipment.models.planning import evening

    found_estate()
    now = timezone.now()
    day = timezone.localdate(now) + timedelta(days=1)
    evening(day, now)
    with CaptureQueriesContext(connection) as captured:
        plan = evening(day, now)
    assert len(plan.needs) == CREWS and sum(len(need.people) for need in plan.needs) == PICKERS
    chosen = Counter(task.piece.gear.kind for task in plan.tasks.values())
    print(f"   chosen tonight: {dict(chosen)}", flush=True)
    size = f"{CREWS} crews, {PICKERS} pickers, {ITEMS:,} items"
    report.limit(f"evening plan: queries, {size}", len(captured), at_most=20)
    report.limit("evening plan: pieces to work on that it chose", len(plan.tasks), at_least=100)
    signed_in = client()
    with CaptureQueriesContext(connection) as captured:
        page = signed_in.get("/plan/", secure=True, headers={"host": "localhost"})
    assert page.status_code == 200
    report.limit("evening plan: queries of the page, session and person included", len(captured), at_most=20)
    ours, theirs = alternate(lambda: evening(day, now), lambda: bare(day), ROUNDS)
    figure = f"evening plan: ms, {size}, against the bare reading of its rows"
    report.ratio(figure, ours.median * 1000, theirs.median * 1000, unit="ms", at_most=12)


def client() -> Any:
    from django.test import Client

    from crews.models import User

    found = Client()
    user = User.objects.get(username="plan")
    found.force_login(user, backend="crews.signing_in.RoleBackend")
    return found


PLANS = """
SELECT plan.crew_id, plan.part, plan.clipped, block.crop, block.tall_trees, crew.store_id
FROM crews_dayplan plan JOIN crews_block block ON block.code = plan.block_id
JOIN crews_crew crew ON crew.code = plan.crew_id WHERE plan.date = %s
"""
MEMBERS = """
SELECT member.crew_id, picker.id, picker.hand, picker.glove_size
FROM equipment_membership member JOIN crews_picker picker ON picker.id = member.picker_id
"""
PIECES = """
SELECT state.item_id, state.tag, state.place, state.store_id, item.kind_id, item.size, item.hand, state.reasons,
  state.due
FROM equipment_itemstate state JOIN equipment_item item ON item.id = state.item_id
WHERE state.place IN ('store', 'bench', 'picker', 'crew', 'orchard')
"""


def bare(day: Any) -> int:
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute(PLANS, [day])
        count = len(cursor.fetchall())
        cursor.execute(MEMBERS)
        count += len(cursor.fetchall())
        cursor.execute(PIECES)
        for *_, reasons, due in cursor.fetchall():
            count += len(json.loads(reasons)) + len(json.loads(due))
    return count


def found_estate() -> None:
    from django.contrib.auth.models import Group
    from django.utils import timezone

    from crews.models import Block, Crew, DayPlan, Picker, Store, User
    from equipment.actions.load_catalogue import load_catalogue
    from equipment.domain import codes
    from equipment.models import Membership

    load_catalogue()
    now = timezone.now()
    user = User.objects.create(username="plan")
    user.groups.add(Group.objects.get(name="storeman"))
    stores = [Store.objects.create(code=f"PL{n}", name=f"Plan {n}") for n in (1, 2)]
    block = Block.objects.create(code="PLAN", crop="lemon", tall_trees=True)
    crews = Crew.objects.bulk_create(
        Crew(code=codes.make(codes.CREW, 5000 + n), name=f"Plan {n}", store=stores[n % 2])
        for n in range(CREWS)
    )
    pickers = Picker.objects.bulk_create(
        Picker(
            number=f"plan {n}", name=f"P {n}", hand="left" if n % 9 == 0 else "right", glove_size=SIZES[n % 4]
        )
        for n in range(PICKERS)
    )
    since = now - timedelta(days=30)
    Membership.objects.bulk_create(
        Membership(crew=crews[n % CREWS], picker=picker, since=since) for n, picker in enumerate(pickers)
    )
    tomorrow = timezone.localdate(now) + timedelta(days=1)
    DayPlan.objects.bulk_create(DayPlan(date=tomorrow, crew=crew, block=block) for crew in crews)
    _gear([store.pk for store in stores], [picker.pk for picker in pickers], now)


def _gear(stores: list[str], pickers: list[int], now: datetime) -> None:
    """Two in three are fit; the rest are torn, uninspected, or not sterile; folds are as long as a season's. Each was
    worn by a picker of a crew of its own store."""
    from equipment.models import Item, ItemState
    from equipment.models.gear import Kind

    kinds = [kind for kind, share in SHARES.items() for _ in range(share)]
    hands = {kind.pk: kind.hands for kind in Kind.objects.all()}
    items, states = [], []
    seen: Counter[tuple[str, int]] = Counter()
    for n in range(ITEMS):
        kind = kinds[n % len(kinds)]
        item = Item(
            id=uuid4(), kind_id=kind,
            size=SIZES[n // 7 % 4] if kind == "gloves" else "",
            hand=("left" if n % 9 == 0 else "right") if hands[kind] else "",
        )  # fmt: skip
        items.append(item)
        place = n // len(kinds) % 2
        picker = pickers[(2 * seen[kind, place] + place) % len(pickers)]
        seen[kind, place] += 1
        states.append(_state(item, f"PL{n:06}", stores[place], picker, now, n))
    Item.objects.bulk_create(items, batch_size=500)
    ItemState.objects.bulk_create(states, batch_size=500)


def _state(item: Any, tag: str, store: str, picker: int, now: datetime, n: int) -> Any:
    from equipment.models import ItemState

    bad = n % 3 == 0
    torn, due = (
        bad and item.kind_id == "bag",
        bad and item.kind_id in ("clippers", "ladder", "water_container"),
    )
    at = (now - timedelta(hours=3)).astimezone(UTC).isoformat()
    what = {"clippers": ("clean", "sterilise"), "ladder": ("inspect", "ladder_monthly")}
    told, name = what.get(item.kind_id, ("clean", "wash"))
    fault = {
        "fault": "bag_hole",
        "entry": str(uuid4()),
        "at": at,
        "mended_at": None,
        "mended_by": None,
        "release": "",
    }
    return ItemState(
        item=item, tag=tag, place="bench" if torn else "store", store_id=store, since=now - timedelta(hours=14),
        fit=not torn, reasons=["stop_use"] if torn else [], holds_at=now - timedelta(hours=3) if due else None,
        due=[{"what": told, "name": name, "at": at, "holds": True, "cause": "hours"}] if due else [],
        fold={"state": {"faults": [fault] if torn else [], "flags": [], **_season(picker, at)}},
    )  # fmt: skip


def _season(picker: int, at: str) -> dict[str, Any]:
    """The last few cleanings, and as many stints as a fold keeps."""
    cleaning = {
        "entry": "",
        "at": at,
        "method": "sterilise",
        "bath": None,
        "picker": None,
        "other_at": None,
        "ends": [],
    }
    stint = {"picker": picker, "crew": "CW50005", "at": at, "until": at}
    return {"cleanings": [{**cleaning, "entry": str(uuid4())} for _ in range(4)], "stints": [stint] * 60}
