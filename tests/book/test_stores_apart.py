"""On PostgreSQL the books of two stores are written side by side: whoever waits in one keeps nobody in the other."""

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future
from contextlib import contextmanager
from time import monotonic, sleep
from typing import Any
from uuid import uuid4

import pytest
from django.db import connection, connections
from rest_framework.test import APIClient

from crews.models import Device
from equipment.actions.make_tags import make_set_tags
from equipment.actions.register import Run, register
from equipment.models import ChainHead, Entry, Kind
from tests.cast import Farm
from tests.lots import came_in
from tests.together import HANDS, at_once, the_book_is_whole

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.only_on("postgresql")]
PATIENCE = 20
BOTH = ("A", "B")
Work = Callable[[], Any]


@pytest.fixture(autouse=True)
def _hands_are_washed(transactional_db: None) -> Iterator[None]:
    yield
    at_once(*[lambda: connection.close()] * 3)


@contextmanager
def locked(store: str) -> Iterator[None]:
    """The head of a store's chain in the hands of somebody who does not let go."""
    other = connections["default"].copy()
    other.set_autocommit(False)
    try:
        with other.cursor() as cursor:
            cursor.execute("SELECT 1 FROM equipment_chainhead WHERE store_id = %s FOR UPDATE", [store])
        yield
    finally:
        other.rollback()
        other.close()


def waiting() -> set[int]:
    """The connections that wait for somebody's lock now."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT DISTINCT pid FROM pg_locks WHERE NOT granted")
        return {pid for (pid,) in cursor.fetchall()}


def until_it_waits(work: "Future[Any]") -> set[int]:
    end = monotonic() + PATIENCE
    while not (found := waiting()):
        assert not work.done() and monotonic() < end, "nobody waits for the head that is locked"
        sleep(0.005)
    return found


def done_meanwhile(work: Work, those: set[int]) -> Any:
    """What it gives, while nobody but `those` ever waits."""
    running, end = HANDS.submit(work), monotonic() + PATIENCE
    while not running.done():
        assert waiting() <= those, "a writer of another store waits"
        assert monotonic() < end, "it hangs"
    return running.result()


def entries(farm: Farm, act: str, store: str) -> list[dict[str, Any]]:
    """What the counters of both stores write of the same kind, each of its own gear and people."""
    picker = farm.badges["ana" if store == "A" else "cy"]
    crew = farm.crews["red" if store == "A" else "blue"].pk
    one = farm.gear("clippers", store=store)[0] if act not in ("a new lot", "a crew's day") else ""
    dip = {"method": "sterilise", "recipe": "clippers_daily_bleach", "seconds": 640, "each_scanned": True}
    mixed = {"recipe": "clippers_daily_bleach", "litres": 10, "product_ml": 300, "strength_pct": 3.5}
    new = {"goods": "plasters", "quantity": 5}
    bath, lot = str(uuid4()), str(uuid4())
    made: dict[str, Callable[[], list[dict[str, Any]]]] = {
        "a hand-out and a return": lambda: [
            farm.entry("handed_out", item=one, picker=picker),
            farm.entry("returned", item=one, note="Dry."),
        ],
        "a set is packed": lambda: [farm.entry("packed", item=one, detail={"set": make_set_tags(1)[0]})],
        "a dip": lambda: [
            farm.entry("mixed", bath=bath, detail=mixed),
            farm.entry("cleaned", item=one, bath=bath, detail=dip),
        ],
        "a new lot": lambda: [
            farm.entry("received", lot=lot, detail=new),
            farm.entry("used", lot=str(came_in(farm, store=store)), detail={"quantity": 1}),
        ],
        "a crew's day": lambda: [
            farm.entry("parted", crew=crew, picker=picker),
            farm.entry("joined", crew=crew, picker=picker),
            farm.entry("arrived", crew=crew, block="N4", detail={"block": "N4"}),
            farm.entry("left", crew=crew),
        ],
        "a fault": lambda: [farm.entry("fault_found", item=one, detail={"fault": "clippers_blunt"})],
    }
    return made[act]()


ACTS = ("a hand-out and a return", "a set is packed", "a dip", "a new lot", "a crew's day", "a fault")


@pytest.fixture
def counters(farm: Farm, client_of: Callable[[str], APIClient]) -> dict[str, tuple[APIClient, str]]:
    """One in each store; the same person is signed in at both."""
    own = {store: Device.objects.create(kind=Device.Kind.COUNTER, store_id=store) for store in BOTH}
    return {store: (client_of("rosa"), str(device.pk)) for store, device in own.items()}


def sending(farm: Farm, counter: tuple[APIClient, str], store: str, sent: Sequence[Any], gate: str) -> Work:
    client, device = counter
    body = farm.batch(sent, gate, store=store, device=device)

    def send() -> list[str]:
        answer = client.post("/api/entries/", body, format="json")
        assert answer.status_code == 200, answer.content
        return [each["outcome"] for each in answer.json()["answers"]]

    return send


def side_by_side(here: Work, there: Work) -> tuple[Any, Any]:
    """Store A's work, which has to wait for its head, and store B's, which is done before that ends."""
    ChainHead.objects.get_or_create(store_id="A")
    with locked("A"):
        waits = HANDS.submit(here)
        those = until_it_waits(waits)
        gone_on = done_meanwhile(there, those)
        assert waiting() == those and not waits.done()
    return waits.result(PATIENCE), gone_on


@pytest.mark.parametrize("gate", ["hold", "note"])
@pytest.mark.parametrize("act", ACTS)
def test_the_same_act_goes_on_in_the_other_store(act: str, gate: str, farm: Farm, counters: Any) -> None:
    a, b = (sending(farm, counters[store], store, entries(farm, act, store), gate) for store in BOTH)
    before = Entry.objects.filter(store="B").count()
    waited, gone_on = side_by_side(a, b)
    assert set(waited) == set(gone_on) == {"recorded"}
    assert Entry.objects.filter(store="B").count() == before + len(gone_on)
    the_book_is_whole()


def test_new_gear_of_one_kind_is_numbered_in_both_stores(farm: Farm) -> None:
    """Its numbers are the farm's, and given out before anybody waits."""
    bag = Kind.objects.get(pk="bag")
    here, there = (
        lambda store=store: register(farm.pen(store=store), [Run(bag, store, 30)]) for store in BOTH
    )
    waited, gone_on = side_by_side(here, there)
    assert len({*waited, *gone_on}) == 60
    the_book_is_whole()


def test_a_piece_that_both_stores_write_of_makes_them_wait(farm: Farm, counters: Any) -> None:
    """So that what is shown above is not shown by a look that never sees anybody wait."""
    (bag,) = farm.gear("bag")
    sends = [
        sending(farm, counters[store], store, [farm.entry("moved", item=bag, detail={"to": "B"})], "note")
        for store in BOTH
    ]
    with pytest.raises(AssertionError, match="another store waits"):
        side_by_side(*sends)
