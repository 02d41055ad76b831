"""Two at once at a bath or a lot: what is new to the book as well, and in whichever order it is named."""

from collections.abc import Callable, Iterator, Sequence
from typing import Any
from uuid import UUID

import pytest
from django.db import connection
from django.utils import timezone
from rest_framework.test import APIClient

from equipment.actions.writing import Pen, new_id
from equipment.models import BathState, Discrepancy, ItemState, LotState
from tests.cast import Farm
from tests.together import at_once, the_book_is_whole
from tests.washing import mixed

pytestmark = pytest.mark.django_db(transaction=True)
ROUNDS = 30
MIXED = {"recipe": "clippers_daily_bleach", "litres": 20, "product_ml": 2000, "strength_pct": 5}
DIPPED = {"method": "sterilise", "recipe": "clippers_daily_bleach", "seconds": 600}


@pytest.fixture(autouse=True)
def _hands_are_washed(transactional_db: None) -> Iterator[None]:
    yield
    at_once(*[lambda: connection.close()] * 3)


def bringing(farm: Farm, verb: str, gate: Any, **fields: Any) -> Callable[[], Any]:
    pen = Pen(farm.users["rosa"], "A", timezone.now())
    return lambda: pen.record([pen.draft(verb, **fields)], gate).outcomes[0]


@pytest.mark.parametrize("gate", ["hold", "note"])
def test_the_second_who_brings_in_a_lot_sees_the_first(farm: Farm, gate: str) -> None:
    """There is no row yet that could be locked."""
    for turn in range(ROUNDS):
        lot = new_id()
        detail = {"goods": "plasters", "quantity": 10}
        outcomes = at_once(*[bringing(farm, "received", gate, lot=lot, detail=detail)] * 2)
        said = sorted([d.code for d in o.discrepancies] or list(o.codes) for o in outcomes)
        assert said == [[], ["received_twice"]], (turn, said)
        assert LotState.objects.get(pk=lot).left == 10
    assert Discrepancy.objects.filter(code="received_twice").count() == (ROUNDS if gate == "note" else 0)
    the_book_is_whole()


def test_the_second_who_mixes_a_bath_sees_the_first(ruled_farm: Farm) -> None:
    for turn in range(ROUNDS):
        bath = new_id()
        outcomes = at_once(*[bringing(ruled_farm, "mixed", "note", bath=bath, detail=MIXED)] * 2)
        said = sorted([d.code for d in o.discrepancies] for o in outcomes)
        assert said == [[], ["mixed_twice"]], (turn, said)
    assert BathState.objects.count() == Discrepancy.objects.filter(code="mixed_twice").count() == ROUNDS
    the_book_is_whole()


def test_baths_and_pieces_in_either_order_never_wait_in_a_ring(
    ruled_farm: Farm, client_of: Callable[[str], APIClient]
) -> None:
    """Phones name the pieces first, the wash page the bath: both lock the bath first."""
    farm, client = ruled_farm, client_of("rosa")
    tags = farm.gear("clippers", 2)
    items = [ItemState.objects.get(tag=tag).item_id for tag in tags]
    baths = [mixed(farm), mixed(farm)]

    def by_batch(tags: Sequence[str], baths: Sequence[UUID]) -> Callable[[], Any]:
        pairs = zip(tags, baths, strict=True)
        entries = [farm.entry("cleaned", item=tag, bath=str(bath), detail=DIPPED) for tag, bath in pairs]
        body = farm.batch(entries, "note")
        return lambda: client.post("/api/entries/", body, format="json").status_code

    def by_pen() -> int:
        pen = Pen(farm.users["rosa"], "A", timezone.now())
        drafts = [
            pen.draft("cleaned", item=item, bath=bath, detail=DIPPED)
            for item, bath in zip(items[::-1], baths, strict=True)
        ]
        return len(pen.record(drafts, "note").outcomes)

    for _ in range(ROUNDS):
        done = at_once(by_batch(tags, baths), by_batch(tags[::-1], baths[::-1]), by_pen)
        assert done == [200, 200, 2]
    the_book_is_whole()


def test_a_crew_that_arrives_with_its_gear_never_waits_in_a_ring_with_a_counter(
    ruled_farm: Farm, client_of: Callable[[str], APIClient]
) -> None:
    """The phone locks the pieces that it names, then those that its crew has; a counter the same ones by their ids."""
    farm, client = ruled_farm, client_of("rosa")
    held, named = farm.gear("clippers", 2)
    farm_red = farm.crews["red"].pk
    client.post(
        "/api/entries/",
        farm.batch([farm.entry("handed_out", item=held, picker=farm.badges["ana"])], "note"),
        format="json",
    )

    def sent(*entries: Any) -> Callable[[], Any]:
        body = farm.batch(list(entries), "note")
        return lambda: client.post("/api/entries/", body, format="json").status_code

    for turn in range(ROUNDS):
        block = ("N4", "S2")[turn % 2]
        arrived = farm.entry("arrived", crew=farm_red, block=block, detail={"block": block})
        phone = sent(arrived, farm.entry("seen", item=named))
        counter = sent(farm.entry("seen", item=held), farm.entry("seen", item=named))
        assert at_once(phone, counter) == [200, 200]
    the_book_is_whole()
