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
from equipment.actions.load_catalogue import load_catalogue
from equipment.domain import bath, values
from equipment.domain.fold import Folded, fold
from equipment.domain.verbs import STEPS
from equipment.ledger import Draft, record
from equipment.ledger.desk import Desk
from equipment.models import (
    BathState,
    CrewState,
    Discrepancy,
    Entry,
    GearSet,
    Goods,
    Item,
    ItemState,
    Kind,
    Label,
    LotState,
    Membership,
    Visit,
    projections,
    rules,
)
from tests.cast import Farm
from tests.stories import (
    BATH,
    BLOCKS,
    DEVICES,
    LOT,
    LOT_VERBS,
    MORNING,
    bath_life,
    crew_life,
    entry,
    item_life,
    lot_life,
)

LATER = MORNING + timedelta(days=2)
SEEDS = st.integers(0, 10_000)
QUIETLY = [HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
ITEM = UUID(int=1000)
CREWS = ("CW0001X", "CW0002V")
OPEN = ("item", "crew", "bath", "lot", "code", "entry_id", "settled")
STARTS = {
    "item": values.ItemState(),
    "crew": values.CrewState(),
    "bath": values.BathState(),
    "lot": values.LotState(),
}
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
    Goods.objects.create(code="plasters", name="plasters", unit="piece", used_for="first_aid")
    from crews.models import Block

    for code in BLOCKS:
        Block.objects.create(code=code, crop="lemon")
    # A number of its own: a database that counts on would let each run say another.
    return User.objects.create_user("rosa", pk=1000)


def drafts(
    life: Sequence[values.Entry],
    by: User,
    item: UUID | None,
    bath: UUID | None = None,
    lot: UUID | None = None,
) -> list[Draft]:
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
            crew=None if bath else line.crew,
            picker=None if bath or lot else line.picker,
            block=line.block,
            bath=bath or line.bath,
            lot=lot,
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


def own_line(by: User, kind: str = "bag") -> Draft:
    """The line that brings the item into being; without it none of the others could be stored."""
    detail = {"kind": kind, "store": "A", "tag": "BG1000"}
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
        "baths": list(BathState.objects.order_by("bath").values()),
        "lots": list(LotState.objects.order_by("lot").values()),
        "members": list(
            Membership.objects.order_by("crew_id", "picker_id").values("crew", "picker", "since")
        ),
        "visits": list(Visit.objects.order_by("crew_id", "at", "id").values()),
        "open": sorted(Discrepancy.objects.values(*OPEN), key=lambda row: (row["code"], row["entry_id"])),
    }


def folded_from_the_book() -> dict[str, Any]:
    """The same, from the stored lines and the pure fold alone."""
    lives: dict[Subject, list[values.Entry]] = {}
    for row in Entry.objects.order_by("?"):
        subject = (
            ("item", row.item_id)
            if row.item_id
            else ("bath", row.bath)
            if row.bath
            else ("lot", row.lot)
            if row.lot
            else ("crew", row.crew_id)
        )
        lives.setdefault(subject, []).append(projections.value_of(row))
    folds = {
        subject: fold(life, STARTS[subject[0]], STEPS)
        for subject, life in sorted(lives.items(), key=lambda life: (life[0][0], str(life[0][1])))
    }
    beside = _beside(lives, folds)
    crews = {key: folded for (family, key), folded in folds.items() if family == "crew"}
    return {
        "items": [
            _columns(projections.item_row(key, folded, beside))
            for (family, key), folded in folds.items()
            if family == "item"
        ],
        "crews": [
            {"crew_id": key, "fold": projections.as_json(folded, projections.CREW)}
            for key, folded in crews.items()
        ],
        "baths": [
            _columns(projections.bath_row(key, folded))
            for (family, key), folded in folds.items()
            if family == "bath"
        ],
        "lots": [
            _columns(projections.lot_row(key, folded))
            for (family, key), folded in folds.items()
            if family == "lot"
        ],
        "members": [
            {"crew": key, "picker": picker, "since": since}
            for key, folded in crews.items()
            for picker, since in sorted(folded.state.members.items())
        ],
        "visits": [
            {
                "id": v.entry,
                "crew_id": key,
                "block_id": v.block,
                "at": v.at,
                "until": v.until,
                "cause": v.cause,
            }
            for key, folded in crews.items()
            for v in sorted(folded.state.visits, key=lambda visit: (visit.at, visit.entry))
        ],
        "open": _contradicted(folds),
    }


def _columns(row: Any) -> dict[str, Any]:
    return {field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields}


def _contradicted(folds: dict[Subject, Folded[Any]]) -> list[dict[str, Any]]:
    found = [
        dict.fromkeys(OPEN)
        | {family: key, "code": d.code, "entry_id": d.entry, "settled": d.key in folded.state.settled}
        for (family, key), folded in folds.items()
        for d in folded.state.discrepancies
    ]
    return sorted(found, key=lambda row: (row["code"], row["entry_id"]))


def _beside(
    lives: dict[Subject, list[values.Entry]], folds: dict[Subject, Folded[Any]]
) -> projections.Surroundings:
    """The crews' visits; and the dips, counted bath by bath in order of time, that their bath does not let count."""
    undone = {UUID(e.detail["entry"]) for life in lives.values() for e in life if e.verb == "reversed"}
    dips = [
        (e.happened_at, e.id, e.bath)
        for (family, _), life in lives.items()
        for e in life
        if family == "item" and e.verb == "cleaned" and e.bath and e.id not in undone
    ]
    void: dict[UUID, str] = {}
    for own in {own for *_, own in dips}:
        state = folds[("bath", own)].state if ("bath", own) in folds else values.BathState()
        for nth, (at, dip) in enumerate(sorted((at, dip) for at, dip, of in dips if of == own), start=1):
            if why := bath.against_dip(state, at, nth):
                void[dip] = why
    seen = {key: folded.state.visits for (family, key), folded in folds.items() if family == "crew"}
    return projections.Surroundings(rules.rules_at(LATER), seen, void)


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


def test_and_of_a_bath(rows: User) -> None:
    @settings(max_examples=50, suppress_health_check=QUIETLY)
    @given(life=bath_life(8), seed=SEEDS)
    def run(life: list[values.Entry], seed: int) -> None:
        lines = drafts(life, rows, None, BATH)
        assert tried([lines]) == tried(in_batches(Random(seed).sample(lines, len(lines)), seed))

    run()


def test_and_of_a_lot_that_crews_are_given_of(rows: User) -> None:
    @settings(max_examples=60, suppress_health_check=QUIETLY)
    @given(life=lot_life(8), crew=crew_life(4), seed=SEEDS)
    def run(life: list[values.Entry], crew: list[values.Entry], seed: int) -> None:
        lines = drafts(life, rows, None, lot=LOT)
        lines += [_apart(draft, 1) for draft in drafts(crew, rows, None)]
        assert tried([lines]) == tried(in_batches(Random(seed).sample(lines, len(lines)), seed))

    run()


def test_an_item_its_crews_and_its_bath_in_any_order_by_the_rules(rows: User) -> None:
    """Whichever comes first, a visit, a dip, a test of the bath: the same falls due at the same time."""
    load_catalogue()
    begun = [own_line(rows, "clippers"), *_sterile(rows)]

    @settings(max_examples=60, suppress_health_check=QUIETLY)
    @given(item=item_life(10), crew=crew_life(6), dip=bath_life(4), seed=SEEDS)
    def run(item: list[values.Entry], crew: list[values.Entry], dip: list[values.Entry], seed: int) -> None:
        lines = drafts(whole(item), rows, ITEM)
        lines += [_apart(draft, 1) for draft in drafts(crew, rows, None)]
        lines += [_apart(draft, 2) for draft in drafts(dip, rows, None, BATH)]
        one = tried([[*begun, *lines]])
        other = tried([begun, *in_batches(Random(seed).sample(lines, len(lines)), seed)])
        assert one == other

    run()


@pytest.mark.parametrize(
    ("verb", "told"),
    [
        ("stowed", {"block": "N4", "detail": {"block": "N4", "counted": 1}}),
        ("handed_out", {"crew": CREWS[1], "picker": 2, "detail": {"from": "picker:1"}}),
        ("missed", {}),
        ("moved", {"detail": {"to": "B"}}),
    ],
)
def test_a_visit_told_late_reaches_what_the_crew_had_then(
    rows: User, verb: str, told: dict[str, Any]
) -> None:
    """Though the item has left the crew since: into the orchard for the night, to another crew, nobody knows where."""
    load_catalogue()

    def line(number: int, verb: str, second: int, **fields: Any) -> Draft:
        at = MORNING + timedelta(seconds=second)
        return Draft(UUID(int=5000 + number), verb, "A", rows.pk, DEVICES[1], number, at, **fields)

    begun = [own_line(rows, "clippers"), *_sterile(rows)]
    out = line(1, "handed_out", 1, item=ITEM, crew=CREWS[0], picker=1)
    since = line(2, verb, 10, item=ITEM, **told)
    visit = [
        replace(line(3, "arrived", 5, crew=CREWS[0], block="N4", detail={"block": "N4"}), device=DEVICES[2]),
        replace(line(4, "left", 7, crew=CREWS[0]), device=DEVICES[2]),
    ]
    assert tried([[*begun, out, since, *visit]]) == tried(
        [begun, [out], [since], *([each] for each in visit)]
    )


def _sterile(by: User) -> list[Draft]:
    """The bath is mixed, and the item dipped in it."""
    mixed = {"recipe": "clippers_daily_bleach", "litres": 2, "product_ml": 200}
    dipped = {"method": "sterilise", "seconds": 600}
    bath = Draft(UUID(int=1001), "mixed", "A", by.pk, DEVICES[0], 0, MORNING, bath=BATH, detail=mixed)
    return [bath, replace(bath, id=UUID(int=1002), verb="cleaned", item=ITEM, device_seq=1, detail=dipped)]


def _apart(draft: Draft, family: int) -> Draft:
    """Ids of its own: the lives were made up one by one."""
    detail = dict(draft.detail)
    if "entry" in detail:
        detail["entry"] = str(_moved(UUID(detail["entry"]), family))
    if "key" in detail:
        code, _, own = detail["key"].partition(":")
        detail["key"] = f"{code}:{_moved(UUID(own), family)}"
    return replace(draft, id=_moved(draft.id, family), detail=detail)


def _moved(own: UUID, family: int) -> UUID:
    return UUID(int=own.int + 10_000 * family)


@pytest.mark.only_on("sqlite")
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
SAME_EVERYWHERE = "ffb50e0952b28b84a1133780962feb22b9d73454f453e62a32b9ca5854d9dbb3"


def test_both_databases_say_the_same_of_the_same_lines(rows: User) -> None:
    random, said = Random(2026), []
    for season in range(3):
        lines = [own_line(rows), *_lines(random, 120, ITEM, rows), *_lines(random, 80, None, rows)]
        lines += _lines(random, 60, None, rows, LOT)
        for order in range(2):
            shuffling = Random(order)
            batches = in_batches(shuffling.sample(lines[1:], len(lines) - 1), order)
            said.append(tried([[lines[0]], *batches]))
        assert said[-1] == said[-2], season
    text = json.dumps(said[::2], sort_keys=True, default=_plain)
    assert hashlib.sha256(text.encode()).hexdigest() == SAME_EVERYWHERE


def _plain(value: Any) -> str:
    return value.astimezone(MORNING.tzinfo).isoformat() if isinstance(value, datetime) else str(value)


def _lines(random: Random, count: int, item: UUID | None, by: User, lot: UUID | None = None) -> list[Draft]:
    verbs = (
        LOT_VERBS
        if lot
        else "retagged packed handed_out handed_out returned stowed missed found moved fault_found mended released "
        "inspected cleaned flagged"
        if item
        else "joined parted waived arrived left stopped morning_checked taken_over replanned"
    )
    ids = [UUID(int=random.getrandbits(120)) for _ in range(count)]
    life = []
    for own in ids:
        sizes = {"word": 12, "second": 13, "picker": 3, "device_seq": 30, "device": 3, "store": 2, "crew": 2}
        made = {name: random.randrange(size) for name, size in sizes.items()}
        verb = random.choice([*verbs.split(), "reversed", "settled"])
        life.append(entry(verb, own, made | {"picker": made["picker"] + 1}, random.sample(ids, 12)))
    return drafts(life, by, item, lot=lot)


def test_a_farms_own_morning_is_such_a_fold(farm: Farm) -> None:
    """Not made up: what the cast's own actions wrote."""
    farm.gear("bag", 3)
    rows = shown()
    assert rows == folded_from_the_book()
    assert len(rows["items"]) == Item.objects.count() == 3
