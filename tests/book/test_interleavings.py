"""Phones that come back in any order, on a bad line: the same stored entries always add up to the same state.

Five thousand interleavings go over the desk, the ledger's own folding, with the stored lines held by the test; what it
must come to is the pure fold of those lines, in an order drawn anew. A hundred go through HTTP into the database.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from random import Random
from typing import Any
from uuid import UUID

import pytest
from django.utils import timezone
from rest_framework.test import APIClient

from crews.models import Crew, Device
from equipment.actions.batch import Batch
from equipment.actions.resolve import corrected
from equipment.actions.writing import new_id
from equipment.domain import codes, values
from equipment.domain.fold import Folded, fold
from equipment.domain.rules import NO_RULES
from equipment.domain.verbs import STEPS
from equipment.ledger import Draft
from equipment.ledger.desk import Desk
from equipment.models import (
    Entry,
    Label,
    projections,
    rules,
)
from tests.bad_line import FATES, SKEWS, Line, Phone, Request
from tests.cast import Farm
from tests.holding import assert_folded
from tests.stories import BATH, BATH_VERBS, CHOICES, CREW_VERBS, ITEM_VERBS, LOT, LOT_VERBS, MORNING, entry

INTERLEAVINGS, BY_HTTP = 5000, 100
# Few phones mostly, and few lines: what they cost grows with the square of both.
PHONES, LINES_EACH = (2, 2, 2, 3, 3, 4, 5, 8), (1, 1, 1, 2)
SUBJECTS: dict[str, Any] = {"item": UUID(int=1000), "crew": "CW0001X", "bath": BATH, "lot": LOT}
VERBS = {"item": ITEM_VERBS, "crew": CREW_VERBS, "bath": BATH_VERBS, "lot": LOT_VERBS}
SHAPES: dict[str, Any] = {
    "item": projections.ITEM,
    "crew": projections.CREW,
    "bath": projections.BATH,
    "lot": projections.LOT,
}


@dataclass
class HeldBook:
    """One subject's lines, and its state as a row keeps it: it takes requests as the server does."""

    family: str
    random: Random
    stored: dict[UUID, Draft] = field(default_factory=dict)
    state: Folded[Any] | None = None
    refolded: int = 0

    @property
    def subject(self) -> tuple[str, Any]:
        return self.family, SUBJECTS[self.family]

    def take(self, request: Request) -> Iterator[UUID]:
        batch: Any = Batch(None, None, "A", "note", request.sent_at, request.received_at, [])  # type: ignore[arg-type]
        new = [line for line in request.entries if line.id not in self.stored]
        drafts = [
            self.draft(line, corrected(line.happened_at, batch.skew, batch.received_at)) for line in new
        ]
        desk = Desk(drafts, {}, "note", batch.received_at)
        for draft in drafts:
            desk.add(draft)
        self.stored |= {draft.id: draft for draft in drafts}
        if drafts:
            self.refolded += self.subject in desk._histories
            shape = SHAPES[self.family]
            self.state = shape.validate_json(shape.dump_json(desk.folds[self.subject]))
            if self.random.random() < 0.2:
                self.check()
        yield from (line.id for line in request.entries)

    def check(self) -> None:
        lines = [draft.value for draft in self.stored.values()]
        again = self.random.sample(lines, len(lines))
        assert self.state == fold(again, projections.NEW[self.family].state, STEPS)

    def draft(self, line: values.Entry, at: datetime) -> Draft:
        subject = {self.family: SUBJECTS[self.family]}
        named = (
            {"crew": line.crew, "picker": line.picker, "block": line.block} if self.family == "item" else {}
        )
        named |= {"picker": line.picker, "block": line.block} if self.family == "crew" else {}
        own = (line.id, line.verb, line.store, 1, line.device, line.device_seq, at)
        return Draft(*own, **named | subject, detail=line.detail)


@pytest.fixture
def book(monkeypatch: pytest.MonkeyPatch) -> list[HeldBook]:
    """The desk finds its rows in the last of these, and asks no database."""
    books: list[HeldBook] = []

    def lock(desk: Desk, *_: Any) -> None:
        desk.touched = set()
        if books[-1].state is not None:
            desk.before[books[-1].subject] = books[-1].state

    def read(desk: Desk, subjects: Any) -> None:
        desk._histories |= {subject: [d.value for d in books[-1].stored.values()] for subject in subjects}

    monkeypatch.setattr(Desk, "_lock_items", lock)
    monkeypatch.setattr(Desk, "_lock_crews", lambda *_: None)
    monkeypatch.setattr(Desk, "_lock_baths", lambda *_: None)
    monkeypatch.setattr(Desk, "_lock_lots", lambda *_: None)
    monkeypatch.setattr(Desk, "_visits", lambda *_: {})
    monkeypatch.setattr(Desk, "_read_histories", read)
    monkeypatch.setattr(Label.objects, "filter", lambda **_: Label.objects.none())
    monkeypatch.setattr(rules, "rules_at", lambda *_: NO_RULES)
    return books


def outboxes(random: Random, family: str) -> list[Phone]:
    """Some phones, each with lines of the one subject, in the order of its own count; its clock is off, and is set back
    now and then."""
    counts = [random.choice(LINES_EACH) for _ in range(random.choice(PHONES))]
    ids = [UUID(int=number) for number in random.sample(range(100, 999), sum(counts))]
    verbs, left = [*VERBS[family].split(), "reversed", "settled"], iter(ids)
    phones = []
    for number, count in enumerate(counts):
        off, device = random.choice(SKEWS), UUID(int=11 + number)
        lines = [
            _line(random, random.choice(verbs), next(left), ids, device, seq, off) for seq in range(count)
        ]
        phones.append(Phone(device, off, [(line.id, line) for line in lines]))
    return phones


def _line(
    random: Random, verb: str, own: UUID, ids: Sequence[UUID], device: UUID, seq: int, off: timedelta
) -> values.Entry:
    made = {name: random.randrange(size) for name, size in CHOICES.items()}
    line = entry(verb, own, made, ids)
    return replace(line, device=device, device_seq=seq, happened_at=line.happened_at + off)


def test_five_thousand_interleavings_over_the_desk(book: list[HeldBook]) -> None:
    fates: Counter[str] = Counter()
    refolded = 0
    for number in range(INTERLEAVINGS):
        random = Random(number)
        family = random.choice(("item", "item", "crew", "bath", "lot"))
        book[:] = [HeldBook(family, random)]
        phones = outboxes(random, family)
        sent = {own for phone in phones for own, _ in phone.waiting}
        line = Line(random, book[-1].take, MORNING + timedelta(hours=1))
        line.play(phones)
        assert book[-1].stored.keys() == sent, f"interleaving {number}"
        book[-1].check()
        fates += line.fates
        refolded += book[-1].refolded
    assert set(fates) == set(FATES)
    assert refolded > INTERLEAVINGS / 2, "hardly anything came late: this tests nothing"


ORCHARD: dict[str, tuple[tuple[str, dict[str, Any]], ...]] = {
    "item": (
        ("handed_out", {}),
        ("returned", {"wet": True}),
        ("fault_found", {"fault": "bag_hole"}),
        ("mended", {"fault": "bag_hole", "method": "sewn", "minutes": 5}),
        ("cleaned", {"method": "wash"}),
        ("missed", {}),
        ("found", {}),
    ),
    "crew": (
        ("arrived", {"block": "N4"}),
        ("arrived", {"block": "S2"}),
        ("left", {}),
        ("stopped", {"cause": "rain"}),
    ),
    "bath": (("tested", {"ppm": 5000}), ("tested", {"ppm": 1000}), ("emptied", {"where": "drain"})),
    "lot": (("used", {"quantity": 0.1}), ("used", {"quantity": 7}), ("counted", {"left": 2.5})),
}


def told(random: Random, farm: Farm, subjects: dict[str, Any]) -> list[Phone]:
    """Phones of a day in the orchard, as `POST /api/entries/` takes their entries; some take back what another told."""
    phones, known = [], []
    for _ in range(random.choice(PHONES)):
        off = random.choice(SKEWS)
        device = Device.objects.create(kind=Device.Kind.PHONE, store=farm.stores["A"])
        waiting = []
        for seq in range(random.choice(LINES_EACH)):
            family = random.choice(("item", "item", "crew", "bath", "lot"))
            verb, detail = random.choice(ORCHARD[family])
            if known and random.random() < 0.2:
                family, target = random.choice(known)
                verb, detail = "reversed", {"entry": target}
            fields: dict[str, Any] = {family: subjects[family]}
            if verb == "handed_out":
                fields["picker"] = farm.badges[random.choice(("ana", "ben", "cy"))]
            at = timezone.now() - timedelta(minutes=random.randrange(1, 600)) + off
            sent = farm.entry(verb, at=at, device_seq=seq, detail=detail, **fields)
            waiting.append((UUID(sent["id"]), sent))
            if verb != "reversed":
                known.append((family, sent["id"]))
        phones.append(Phone(device.pk, off, waiting))
    return phones


def test_a_hundred_through_http(farm: Farm, client_of: Callable[[str], APIClient]) -> None:
    client, acknowledged = client_of("rosa"), set[UUID]()
    bags = farm.gear("bag", BY_HTTP, days_ago=4000)

    def post(request: Request) -> Iterator[UUID]:
        # It comes now: what the line made of its time is in the phone's own.
        sent_at = timezone.now() + (request.sent_at - request.received_at)
        body = farm.batch(
            request.entries, "note", device=str(request.phone.device), sent_at=sent_at.isoformat()
        )
        for answer in client.post("/api/entries/", body, format="json").json()["answers"]:
            assert answer["outcome"] in ("recorded", "known"), answer
            acknowledged.add(UUID(answer["id"]))
            yield UUID(answer["id"])

    lots = _received(farm, client, BY_HTTP)
    for number, bath in enumerate(_mixed(farm, client, BY_HTTP)):
        random = Random(number)
        crew = Crew.objects.create(
            code=codes.make(codes.CREW, 100 + number), name=number, store=farm.stores["A"]
        )
        subjects = {"item": bags[number], "crew": crew.pk, "bath": bath, "lot": lots[number]}
        phones = told(random, farm, subjects)
        sent = {own for phone in phones for own, _ in phone.waiting}
        Line(random, post, timezone.now()).play(phones)
        assert sent <= acknowledged, f"interleaving {number}"
    written = Counter(Entry.objects.values_list("pk", flat=True))
    assert {written[own] for own in acknowledged} == {1}
    assert_folded()


def _mixed(farm: Farm, client: APIClient, count: int) -> list[str]:
    """Baths that they all know of."""
    baths, at = [str(new_id()) for _ in range(count)], timezone.now() - timedelta(hours=11)
    detail = {"recipe": "clippers_daily_bleach", "litres": 2, "product_ml": 200}
    mixed = [farm.entry("mixed", bath=own, at=at, detail=detail) for own in baths]
    client.post("/api/entries/", farm.batch(mixed), format="json")
    return baths


def _received(farm: Farm, client: APIClient, count: int) -> list[str]:
    lots, at = [str(new_id()) for _ in range(count)], timezone.now() - timedelta(hours=11)
    detail = {"goods": "plasters", "quantity": 10}
    came = [farm.entry("received", lot=own, at=at, detail=detail) for own in lots]
    client.post("/api/entries/", farm.batch(came), format="json")
    return lots
