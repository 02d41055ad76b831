"""Two at once: exactly one wins each time, nothing is lost, nothing fails, and the chain has no hole."""

import threading
from collections.abc import Callable, Iterator, Sequence
from datetime import timedelta
from time import monotonic
from typing import Any

import pytest
from django.db import connection, transaction
from django.utils import timezone
from rest_framework.test import APIClient

from crews.models import Badge, Crew, Device, Picker
from equipment.actions.change_crew import join
from equipment.actions.enter_paper import Page, PaperLine, enter
from equipment.actions.lend_badge import CardNotFree, lend_day_card
from equipment.actions.writing import Pen, new_id
from equipment.domain import codes
from equipment.models import (
    Entry,
    GearSet,
    ItemState,
    KeptEntry,
    Label,
    LotState,
)
from tests.cast import Farm
from tests.lots import came_in
from tests.together import at_once, the_book_is_whole

pytestmark = pytest.mark.django_db(transaction=True)
ROUNDS = 200
FEWER = 30
SignIn = Callable[[str], APIClient]


@pytest.fixture(autouse=True)
def _hands_are_washed(transactional_db: None) -> Iterator[None]:
    yield
    at_once(*[lambda: connection.close()] * 3)


def sending(client: APIClient, body: dict[str, Any]) -> Callable[[], list[dict[str, Any]]]:
    def send() -> list[dict[str, Any]]:
        response = client.post("/api/entries/", body, format="json")
        assert response.status_code == 200, response.content
        answers: list[dict[str, Any]] = response.json()["answers"]
        return answers

    return send


@pytest.fixture
def counters(farm: Farm, client_of: SignIn) -> Sequence[tuple[APIClient, str]]:
    """Two of them, with somebody signed in at each."""
    other = Device.objects.create(kind=Device.Kind.COUNTER, store=farm.stores["A"])
    return [(client_of("rosa"), str(farm.device.pk)), (client_of("sam"), str(other.pk))]


def both(farm: Farm, counters: Any, bodies: Sequence[Sequence[Any]], gate: str = "hold") -> list[Any]:
    sends = [
        sending(client, farm.batch(entries, gate, device=device))
        for (client, device), entries in zip(counters, bodies, strict=True)
    ]
    return at_once(*sends)


def test_two_take_the_last_of_a_lot(farm: Farm, counters: Any) -> None:
    for turn in range(FEWER):
        lot = str(came_in(farm, quantity=10))
        asked = [[farm.entry("used", lot=lot, detail={"quantity": 6})] for _ in counters]
        answers = [answer for (answer,) in both(farm, counters, asked)]
        assert sorted(answer["outcome"] for answer in answers) == ["recorded", "refused"], (turn, answers)
        assert [a["code"] for a in answers if a["outcome"] == "refused"] == ["more_than_left"]
    assert set(LotState.objects.values_list("left", flat=True)) == {4.0}
    the_book_is_whole()


def test_two_hand_one_item_to_two_pickers_two_hundred_times(farm: Farm, counters: Any) -> None:
    wins = {"ana": 0, "ben": 0}
    for tag in farm.gear("bag", ROUNDS):
        asked = [[farm.entry("handed_out", item=tag, picker=farm.badges[name])] for name in wins]
        answers = [answer for (answer,) in both(farm, counters, asked)]
        assert sorted(a["outcome"] for a in answers) == ["recorded", "refused"], answers
        loser = next(a for a in answers if a["outcome"] == "refused")
        assert loser["code"] == "already_out"
        winner = "ana" if answers[0]["outcome"] == "recorded" else "ben"
        assert ItemState.objects.get(tag=tag).picker == farm.pickers[winner]
        wins[winner] += 1
    assert sum(wins.values()) == ROUNDS == Entry.objects.filter(verb="handed_out").count()
    the_book_is_whole()


def test_notes_of_both_are_taken_and_one_contradicts(farm: Farm, counters: Any) -> None:
    for tag in farm.gear("bag", FEWER):
        asked = [[farm.entry("handed_out", item=tag, picker=farm.badges[name])] for name in ("ana", "ben")]
        both(farm, counters, asked, gate="note")
        assert [d.code for d in ItemState.objects.get(tag=tag).item.discrepancies.all()] == ["already_out"]
    the_book_is_whole()


@pytest.mark.parametrize("gate", ["hold", "note"])
def test_the_same_batch_twice_is_recorded_once(gate: str, farm: Farm, client_of: SignIn) -> None:
    client = client_of("rosa")
    for number in range(FEWER):
        new = codes.make("BG", 5000 + number)
        entries = [
            farm.entry("registered", item=new, detail={"kind": "bag", "store": "A"}),
            farm.entry("handed_out", item=new, picker=farm.badges["ana"], note="in a hurry"),
            farm.entry("joined", crew=farm.crews["blue"].pk, picker=farm.badges["cy"]),
        ]
        body = farm.batch(entries, gate)
        answers = at_once(sending(client, body), sending(client, body))
        outcomes = sorted(tuple(a["outcome"] for a in each) for each in answers)
        assert outcomes == [("known",) * 3, ("recorded",) * 3], answers
    the_book_is_whole()


def test_a_note_that_cannot_be_placed_is_kept_once(farm: Farm, client_of: SignIn) -> None:
    client = client_of("rosa")
    for number in range(5):
        body = farm.batch([farm.entry("missed", item=codes.make("BG", 6000 + number))], "note")
        answers = at_once(*[sending(client, body)] * 3)
        assert {a["code"] for (a,) in answers} == {"unknown_item"}
    assert KeptEntry.objects.count() == 5


def test_of_two_acts_that_share_a_piece_one_is_whole_and_the_other_nothing(farm: Farm, counters: Any) -> None:
    """They name the pieces in opposite order: each would wait for the other if they were locked as they come."""
    for _ in range(FEWER):
        tags = farm.gear("bag", 4)
        acts = {"ana": (tags[:3], str(new_id())), "ben": (tags[:0:-1], str(new_id()))}
        asked = [
            [farm.entry("handed_out", item=t, picker=farm.badges[name], act=act) for t in pieces]
            for name, (pieces, act) in acts.items()
        ]
        answers = both(farm, counters, asked)
        outcomes = sorted({a["outcome"] for a in each} == {"recorded"} for each in answers)
        assert outcomes == [False, True], answers
        lost = next(each for each in answers if each[0]["outcome"] == "refused")
        assert {a["outcome"] for a in lost} == {"refused"}
        assert Entry.objects.filter(act__in=[act for _, act in acts.values()]).count() == 3
    the_book_is_whole()


def test_two_pickers_join_a_new_crew_and_both_are_in_it(farm: Farm, client_of: SignIn) -> None:
    """A crew of which nothing is written yet has no state that could be locked."""
    client = client_of("rosa")
    for number in range(FEWER):
        crew = Crew.objects.create(code=codes.make(codes.CREW, 100 + number), name=str(number), store_id="A")
        bodies = [
            farm.batch([farm.entry("joined", crew=crew.pk, picker=farm.badges[name])])
            for name in ("ana", "ben")
        ]
        at_once(*(sending(client, body) for body in bodies))
        assert crew.memberships.count() == 2
    the_book_is_whole()


def test_items_and_crews_in_either_order_never_wait_in_a_ring(farm: Farm, client_of: SignIn) -> None:
    client, red, blue = client_of("rosa"), farm.crews["red"].pk, farm.crews["blue"].pk
    one, two = (ItemState.objects.get(tag=tag) for tag in farm.gear("bag", 2))

    def by_batch(items: Sequence[ItemState], crews: Sequence[str]) -> Callable[[], Any]:
        entries = [farm.entry("moved", item=i.tag, detail={"to": "A"}) for i in items]
        entries += [farm.entry("joined", crew=c, picker=farm.badges["cy"]) for c in crews]
        return sending(client, farm.batch(entries, "note"))

    def by_pen() -> Any:
        pen = Pen(farm.users["rosa"], "B", timezone.now())
        drafts = [pen.draft("moved", item=i.item_id, detail={"to": "A"}) for i in (two, one)]
        drafts += [pen.draft("joined", crew=c, picker=farm.pickers["cy"].pk) for c in (blue, red)]
        return pen.record(drafts[::-1], "note")

    for _ in range(FEWER):
        at_once(by_batch([one, two], [red, blue]), by_batch([two, one], [blue, red]), by_pen)
    the_book_is_whole()


def test_one_label_is_put_on_one_item(farm: Farm, counters: Any) -> None:
    for number in range(FEWER):
        new = codes.make("BG", 7000 + number)
        one, two = farm.gear("bag", 2)
        asked = [[farm.entry("retagged", item=one, detail={"tag": new})], [register(farm, new)]]
        farm_of = [counters[0], (counters[0][0], counters[1][1])]
        answers = [answer for (answer,) in both(farm, farm_of, asked)]
        assert sorted(a.get("code", "recorded") for a in answers) == ["malformed", "recorded"], answers
        assert Label.objects.filter(pk=new).count() == 1
        assert two
    the_book_is_whole()


def register(farm: Farm, tag: str) -> dict[str, Any]:
    return farm.entry("registered", item=tag, detail={"kind": "bag", "store": "A"})


def test_a_new_device_and_a_new_set_are_made_once(farm: Farm, client_of: SignIn) -> None:
    client = client_of("rosa")
    for number in range(10):
        device, crate = str(new_id()), codes.make(codes.SET, number)
        bodies = [
            farm.batch([farm.entry("packed", item=tag, detail={"set": crate})], device=device)
            for tag in farm.gear("bag", 2)
        ]
        answers = at_once(*(sending(client, body) for body in bodies))
        assert [a["outcome"] for (a,) in answers] == ["recorded", "recorded"]
        assert ItemState.objects.filter(packed_in=crate).count() == 2
    assert GearSet.objects.count() == 10
    the_book_is_whole()


def test_one_day_card_is_lent_to_one_picker(farm: Farm) -> None:
    card, today = (
        Badge.objects.create(code=codes.make(codes.BADGE, 9001), day_card=True),
        timezone.localdate(),
    )

    def lend(picker: Picker, day: Any) -> Callable[[], str]:
        def run() -> str:
            try:
                lend_day_card(card, picker, day)
            except CardNotFree:
                return "taken"
            return "lent"

        return run

    for days in range(20):
        day = today - timedelta(days=days)
        results = at_once(*(lend(farm.pickers[name], day) for name in ("ana", "ben", "cy")))
        assert sorted(results) == ["lent", "taken", "taken"]


def test_a_page_of_paper_sent_twice_is_entered_once(farm: Farm) -> None:
    for tag in farm.gear("bag", FEWER, days_ago=1):
        act, at = new_id(), timezone.now()
        page = Page(farm.crews["red"], "handed_out", at, act, [PaperLine(farm.pickers["ana"], (tag,))])
        results = at_once(*[lambda page=page: enter(farm.users["rosa"], page, timezone.now())] * 2)
        assert sorted(result.count for result in results) == [0, 1]
        assert Entry.objects.filter(act=act).count() == 1
    the_book_is_whole()


def test_who_writes_within_a_transaction_of_their_own_does_not_stop_the_counter(
    farm: Farm, client_of: SignIn
) -> None:
    """An import, say: on SQLite it has the write lock of the database, and must not wait for one in the queue."""
    (tag,) = farm.gear("bag")
    client, started = client_of("rosa"), monotonic()
    begun = threading.Event()

    def office() -> None:
        with transaction.atomic():
            Picker.objects.create(number="77", name="Dora")
            begun.set()
            threading.Event().wait(1)
            join(farm.pen(), [Picker.objects.get(number="77")], farm.crews["red"])

    def counter() -> Any:
        begun.wait(5)
        return sending(client, farm.batch([farm.entry("missed", item=tag)]))()

    at_once(office, counter)
    assert monotonic() - started < 10
    the_book_is_whole()
