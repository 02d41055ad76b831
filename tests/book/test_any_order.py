"""The same lines give the same rows in whatever order, and however many at a time, they arrive, on both databases.

A thousand orders go through the desk, the ledger's own folding, with the stored lines held by the test; a hundred and
more go through `record` into the database. What both databases must agree on is sealed in `SAME_EVERYWHERE`.
"""

import hashlib
import json
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from random import Random
from typing import Any
from uuid import UUID

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from crews.models import Crew, Device, Picker, Store, User
from equipment.domain import values
from equipment.domain.fold import fold
from equipment.domain.verbs import STEPS
from equipment.ledger import Draft, record
from equipment.ledger.desk import Desk
from equipment.models import (
    CrewState,
    Discrepancy,
    Entry,
    GearSet,
    Item,
    ItemState,
    Kind,
    Label,
    Membership,
    projections,
)
from tests.cast import Farm
from tests.stories import DEVICES, MORNING, crew_life, entry, item_life

LATER = MORNING + timedelta(days=2)
SEEDS = st.integers(0, 10_000)
QUIETLY = [HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
ITEM = UUID(int=1000)
CREWS = ("CW0001X", "CW0002V")
OPEN = ("item", "crew", "code", "entry_id", "settled")
Subject = tuple[str, Any]


@pytest.fixture
def rows(db: None) -> User:
    """The rows that made-up lives speak of."""
    for code in "AB":
        Store.objects.create(code=code, name=code)
    for code in CREWS:
        Crew.objects.create(code=code, name=code, store_id="A")
    for number in (1, 2, 3):
        Picker.objects.create(pk=number, number=str(number), name=str(number))
    for device in DEVICES:
        Device.objects.create(pk=device, kind="counter")
    Kind.objects.create(code="bag", name="bag", name_plural="bags", prefix="BG")
    GearSet.objects.create(code="ST0001L")
    from crews.models import Block

    Block.objects.create(code="N4", crop="lemon")
    return User.objects.create_user("rosa")


def drafts(life: Sequence[values.Entry], by: User, item: UUID | None) -> list[Draft]:
    """As stored: the ids, times and details are those of the lines. The tags on labels are made to be free."""
    return [
        Draft(
            id=line.id,
            verb=line.verb,
            store=line.store,
            by=by.pk,
            device=line.device,
            device_seq=line.device_seq,
            happened_at=line.happened_at,
            item=item,
            crew=line.crew,
            picker=line.picker,
            block=line.block,
            detail=_detail(line),
            against=tuple(line.detail.get("verdict", ())),
        )
        for line in life
    ]


def _detail(line: values.Entry) -> dict[str, Any]:
    """The gate's verdict is the ledger's to add: what it finds it finds when the line arrives."""
    said = {name: value for name, value in line.detail.items() if name != "verdict"}
    return said | ({"tag": f"BG{line.id.int % 10**12}"} if line.verb in ("registered", "retagged") else {})


def whole(life: Sequence[values.Entry]) -> list[values.Entry]:
    """A life of one item: without the `registered` that the drawn lines have, for it is the item's own line."""
    return [line for line in life if line.verb != "registered"]


def own_line(by: User) -> Draft:
    """The line that brings the item into being; without it none of the others could be stored."""
    detail = {"kind": "bag", "store": "A", "tag": "BG1000"}
    return Draft(ITEM, "registered", "A", by.pk, DEVICES[0], 0, MORNING, item=ITEM, detail=detail)


def in_batches(all_drafts: Sequence[Draft], seed: int) -> list[list[Draft]]:
    random, rest, batches = Random(seed), list(all_drafts), []
    while rest:
        size = random.choice((1, 1, 2, 3, len(rest)))
        batches.append(rest[:size])
        rest = rest[size:]
    return batches


def written(batches: Sequence[Sequence[Draft]]) -> None:
    for number, batch in enumerate(batches):
        outcomes = record(batch, strictness="note", at=LATER + timedelta(seconds=number)).outcomes
        assert all(outcome.recorded for outcome in outcomes)


def shown() -> dict[str, Any]:
    """Every projection there is, but for the order of rows."""
    return {
        "items": list(ItemState.objects.order_by("item_id").values()),
        "crews": list(CrewState.objects.order_by("crew_id").values()),
        "members": list(
            Membership.objects.order_by("crew_id", "picker_id").values("crew", "picker", "since")
        ),
        "open": list(
            Discrepancy.objects.order_by("code", "entry_id").values(
                "item", "crew", "code", "entry_id", "settled"
            )
        ),
    }


def folded_from_the_book() -> dict[str, Any]:
    """The same, from the stored lines and the pure fold alone."""
    lives: dict[Subject, list[values.Entry]] = {}
    for row in Entry.objects.order_by("?"):
        subject = ("item", row.item_id) if row.item_id else ("crew", row.crew_id)
        lives.setdefault(subject, []).append(projections.value_of(row))
    items, crews, members, found = [], [], [], []
    for (family, key), life in sorted(lives.items(), key=lambda life: (life[0][0], str(life[0][1]))):
        start: Any = values.ItemState() if family == "item" else values.CrewState()
        folded = fold(life, start, STEPS)
        found += [
            {
                "item": None,
                "crew": None,
                "code": d.code,
                "entry_id": d.entry,
                "settled": d.key in folded.state.settled,
            }
            | {family: key}
            for d in folded.state.discrepancies
        ]
        if family == "item":
            row = projections.item_row(key, folded)
            items.append({f.attname: getattr(row, f.attname) for f in ItemState._meta.concrete_fields})
        else:
            crews.append({"crew_id": key, "fold": projections.as_json(folded, projections.CREW)})
            members += [
                {"crew": key, "picker": picker, "since": since}
                for picker, since in sorted(folded.state.members.items())
            ]
    found.sort(key=lambda row: (row["code"], row["entry_id"]))
    return {"items": items, "crews": crews, "members": members, "open": found}


class Undone(Exception):
    pass


def tried(batches: Sequence[Sequence[Draft]]) -> dict[str, Any]:
    """What the rows say after these batches, all of which is undone again."""
    result: dict[str, Any] = {}
    try:
        with transaction.atomic():
            written(batches)
            result = shown()
            assert result == folded_from_the_book()
            raise Undone
    except Undone:
        return result


def test_a_hundred_lives_of_an_item_through_the_book(rows: User) -> None:
    @settings(max_examples=100, suppress_health_check=QUIETLY)
    @given(life=item_life(8), seed=SEEDS)
    def run(life: list[values.Entry], seed: int) -> None:
        lines = drafts(whole(life), rows, ITEM)
        one = tried([[own_line(rows), *lines]])
        other = tried([[own_line(rows)], *in_batches(Random(seed).sample(lines, len(lines)), seed)])
        assert one == other

    run()


def test_and_of_a_crew(rows: User) -> None:
    @settings(max_examples=50, suppress_health_check=QUIETLY)
    @given(life=crew_life(8), seed=SEEDS)
    def run(life: list[values.Entry], seed: int) -> None:
        lines = [replace(draft, crew=CREWS[0]) for draft in drafts(life, rows, None)]
        assert tried([lines]) == tried(in_batches(Random(seed).sample(lines, len(lines)), seed))

    run()


def test_a_thousand_orders_over_the_desk(rows: User, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each batch of an order is folded by a desk of its own, which finds the stored lines where the test keeps them."""
    stored: list[Draft] = []
    states: dict[Subject, Any] = {}

    def lock_items(desk: Desk, *_: Any) -> None:
        desk.before |= states

    def read_histories(desk: Desk, subjects: Any) -> None:
        desk._histories |= {s: [d.value for d in stored if d.subject == s] for s in subjects}

    monkeypatch.setattr(Desk, "_lock_items", lock_items)
    monkeypatch.setattr(Desk, "_lock_crews", lambda *_: None)
    monkeypatch.setattr(Desk, "_read_histories", read_histories)
    monkeypatch.setattr(Label.objects, "filter", lambda **_: Label.objects.none())

    @settings(max_examples=1000, suppress_health_check=QUIETLY)
    @given(life=item_life(), seed=SEEDS)
    def run(life: list[values.Entry], seed: int) -> None:
        stored.clear()
        states.clear()
        lines = drafts(life, rows, ITEM)
        for batch in in_batches(Random(seed).sample(lines, len(lines)), seed):
            desk = Desk(batch, {}, "note", LATER)
            for draft in batch:
                desk.add(desk.timed(draft, desk.folded(draft.subject)))
            # As a row keeps it: to JSON and back.
            states["item", ITEM] = projections.ITEM.validate_json(
                projections.ITEM.dump_json(desk.folds["item", ITEM])
            )
            stored.extend(batch)
        assert states["item", ITEM] == fold([d.value for d in lines], values.ItemState(), STEPS)

    run()


# Of three seeded seasons: items, crews, who is in them and what contradicts, as JSON; the same on every database. It
# changes with the shape of the states only: then let both databases say the new one.
SAME_EVERYWHERE = "fce3b64aa82db5a55cbe915c6b60e1decd1e19b8d32a5aaccdc04b51a82da9ac"


def test_both_databases_say_the_same_of_the_same_lines(rows: User) -> None:
    random, said = Random(2026), []
    for season in range(3):
        lines = [own_line(rows), *_lines(random, 120, ITEM, rows), *_lines(random, 80, None, rows)]
        for order in range(2):
            shuffling = Random(order)
            batches = in_batches(shuffling.sample(lines[1:], len(lines) - 1), order)
            said.append(tried([[lines[0]], *batches]))
        assert said[-1] == said[-2], season
    text = json.dumps(said[::2], sort_keys=True, default=_plain)
    assert hashlib.sha256(text.encode()).hexdigest() == SAME_EVERYWHERE


def _plain(value: Any) -> str:
    return value.astimezone(MORNING.tzinfo).isoformat() if isinstance(value, datetime) else str(value)


def _lines(random: Random, count: int, item: UUID | None, by: User) -> list[Draft]:
    verbs = (
        "retagged packed handed_out handed_out returned stowed missed found moved"
        if item
        else "joined parted waived"
    )
    ids = [UUID(int=random.getrandbits(120)) for _ in range(count)]
    life = []
    for own in ids:
        sizes = {"word": 12, "second": 13, "picker": 3, "device_seq": 30, "device": 3, "store": 2, "crew": 2}
        made = {name: random.randrange(size) for name, size in sizes.items()}
        verb = random.choice([*verbs.split(), "reversed", "settled"])
        life.append(entry(verb, own, made | {"picker": made["picker"] + 1}, random.sample(ids, 12)))
    return drafts(life, by, item)


def test_a_farms_own_morning_is_such_a_fold(farm: Farm) -> None:
    """Not made up: what the cast's own actions wrote."""
    farm.gear("bag", 3)
    rows = shown()
    assert rows == folded_from_the_book()
    assert len(rows["items"]) == Item.objects.count() == 3
