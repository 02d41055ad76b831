"""What the disease trace looks up in a season, against a plain reading of the whole book."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

import pytest
from django.db import transaction
from django.utils import timezone

from equipment import catalogue
from equipment.actions.simulate import Season, simulate_season
from equipment.domain import bath
from equipment.domain.disease_trace import Question, Trace, Whereabouts, follow
from equipment.domain.values import Visit
from equipment.domain.whereabouts import counting, holdings, killings, stays
from equipment.models import BathState, Entry
from equipment.models import Visit as VisitRow
from equipment.models.projections import folded_bath, value_of
from equipment.models.tracing import TracedBook
from tests.estate import found_estate

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


class WholeBook:
    """The same answers from a reading of everything."""

    def __init__(self, disease: str, kinds: Collection[str], since: datetime) -> None:
        visits: dict[str, list[Visit]] = defaultdict(list)
        for row in VisitRow.objects.order_by("crew", "at", "id"):
            visits[row.crew_id].append(Visit(row.pk, row.block_id, row.at, row.until))
        self.pieces: dict[UUID, Whereabouts] = {}
        void = self._void()
        moves = self._moves()
        told = defaultdict(list)
        for entry in Entry.objects.filter(item__kind__in=kinds):
            told[entry.item_id].append(value_of(entry))
        for item, entries in told.items():
            life = counting(entries)
            found = [s for s in stays(holdings(life), visits, moves) if s.until is None or s.until >= since]
            kills = [at for at in killings(life, disease, void) if at >= since]
            self.pieces[item] = Whereabouts(tuple(found), tuple(kills))

    def _void(self) -> set[UUID]:
        found = set()
        undone = {
            UUID(e["entry"]) for e in Entry.objects.filter(verb="reversed").values_list("detail", flat=True)
        }
        for row in BathState.objects.all():
            dips = Entry.objects.filter(verb="cleaned", bath=row.pk).exclude(pk__in=undone)
            for nth, dip in enumerate(dips.order_by("happened_at", "id"), start=1):
                if bath.against_dip(folded_bath(row).state, dip.happened_at, nth):
                    found.add(dip.pk)
        return found

    def _moves(self) -> Mapping[int, list[tuple[datetime, str | None]]]:
        found: dict[int, list[tuple[datetime, str | None]]] = defaultdict(list)
        for entry in Entry.objects.filter(verb__in=("joined", "parted")).order_by(
            "happened_at", "device_seq"
        ):
            joined = entry.verb == "joined"
            if joined or not found[entry.picker_id] or found[entry.picker_id][-1][1] == entry.crew_id:
                found[entry.picker_id].append((entry.happened_at, entry.crew_id if joined else None))
        return found

    def carriers_in(self, blocks: Mapping[str, datetime]) -> Iterable[UUID]:
        return self.pieces

    def whereabouts(self, pieces: Collection[UUID]) -> Mapping[UUID, Whereabouts]:
        return {piece: self.pieces[piece] for piece in pieces}


def carriers(disease: str) -> tuple[str, ...]:
    return next(each.carriers for each in catalogue.load().disease if each.code == disease)


def times(trace: Trace) -> dict[Any, Any]:
    return {node: reach.at for node, reach in trace.reached.items()}


@pytest.fixture(scope="module")
def season(django_db_setup: None, django_db_blocker: Any) -> Iterator[Season]:
    with django_db_blocker.unblock(), transaction.atomic():
        played = Season(timezone.localdate() - timedelta(days=1), days=8, seed=23)
        found_estate(played)
        simulate_season(played)
        yield played
        transaction.set_rollback(True)


@pytest.mark.parametrize("disease", ["exocortis", "citrus_canker", "brown_rot"])
def test_a_season_by_look_ups_and_by_reading_it_whole(season: Season, disease: str) -> None:
    visits = list(VisitRow.objects.order_by("at"))
    reached = 0
    for nth, strict in ((0, True), (len(visits) // 3, False), (2 * len(visits) // 3, True), (-2, True)):
        visit = visits[nth]
        since, until = visit.at + HOUR / 2, timezone.now()
        question = Question(visit.block_id, since, until, strict)
        quick = follow(TracedBook(disease, carriers(disease), since, until), question)
        whole = follow(WholeBook(disease, carriers(disease), since), question)
        assert times(quick) == times(whole)
        assert {p for p in quick.pieces if quick.carrying(p)} == {
            p for p in whole.pieces if whole.carrying(p)
        }
        reached += len(quick.reached)
    assert reached > 20
