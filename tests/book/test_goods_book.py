"""Lots in the book: through the API, verified, rebuilt, contradicted and settled."""

from collections.abc import Sequence
from datetime import timedelta
from typing import Any
from uuid import UUID

import pytest
from django.db import connection, transaction
from django.utils import timezone

from equipment.actions.rebuild_states import rebuild_states
from equipment.actions.simulate import Season, simulate_season
from equipment.actions.verify_book import verify_book
from equipment.actions.writing import new_id
from equipment.domain import chain
from equipment.ledger import columns_of
from equipment.models import CrewState, Discrepancy, Entry, Goods, KeptEntry, LotState, Visit
from equipment.models.shelf import shelf
from tests.cast import Farm
from tests.estate import found_estate
from tests.farm import Post
from tests.lots import came_in, left

CAME = {"goods": "thread", "quantity": 100, "lot_number": "T-1", "expires_on": "2999-01-31"}


def sent(farm: Farm, verb: str, lot: UUID | str, **fields: Any) -> dict[str, Any]:
    return farm.entry(verb, lot=str(lot), **fields)


def test_a_lot_by_the_api_and_the_same_batch_again(farm: Farm, post: Post) -> None:
    lot, red = str(new_id()), farm.crews["red"].pk
    batch = [
        sent(farm, "received", lot, detail=CAME),
        sent(farm, "given", lot, crew=red, detail={"quantity": 20}),
        sent(farm, "used", lot, detail={"quantity": 0.25, "purpose": "mend"}),
        sent(farm, "discarded", lot, note="mice", detail={"quantity": 9}),
        sent(farm, "counted", lot, detail={"left": 70.5}),
    ]
    answers = post(*batch)
    assert [answer["outcome"] for answer in answers] == ["recorded"] * 5
    state = answers[-1]["state"]
    assert (state["lot"], state["goods"], state["left"]) == (lot, "thread", 70.5)
    assert (state["store"], state["lot_number"], state["expires_on"]) == ("A", "T-1", "2999-01-31")
    assert answers[1]["say"] == f"Given to {red}."
    assert [answer["outcome"] for answer in post(*batch)] == ["known"] * 5
    assert Entry.objects.filter(lot=lot).count() == 5
    assert left(UUID(lot)) == 70.5
    assert verify_book().clean


@pytest.mark.parametrize(
    ("verb", "fields", "why"),
    [
        ("received", {"detail": {**CAME, "quantity": 0}}, "greater than 0"),
        ("used", {"detail": {"quantity": -1}}, "greater than 0"),
        ("given", {"detail": {"quantity": 1}}, "needs crew"),
        ("counted", {"detail": {"left": -1}}, "greater than or equal to 0"),
        ("received", {"detail": {**CAME, "goods": "caviar"}}, "no counted goods “caviar”"),
        ("used", {"lot": None, "detail": {"quantity": 1}}, "needs lot"),
        ("used", {"bath": str(UUID(int=1)), "detail": {"quantity": 1}}, "not of both"),
        ("arrived", {"crew": "CW0001X", "block": "N4"}, "not of a lot"),
        ("used", {"item": "BG0001O", "detail": {"quantity": 1}}, "not of an item"),
    ],
)
def test_what_is_no_line_of_a_lot(
    farm: Farm, post: Post, verb: str, fields: dict[str, Any], why: str
) -> None:
    (answer,) = post(farm.entry(verb, **{"lot": str(new_id()), **fields}), gate="note")
    assert (answer["outcome"], answer["code"]) == ("refused", "malformed")
    assert why in answer["say"]


def test_a_note_of_an_unknown_lot_goes_in_when_the_lot_appears(farm: Farm, post: Post) -> None:
    lot = str(new_id())
    (answer,) = post(sent(farm, "used", lot, detail={"quantity": 1}), gate="note")
    assert answer["code"] == "unknown_lot"
    assert KeptEntry.objects.waiting().count() == 1
    at = timezone.now() - timedelta(hours=1)
    post(sent(farm, "received", lot, at=at, device_seq=0, detail=CAME), gate="note")
    assert not KeptEntry.objects.waiting().exists()
    assert left(UUID(lot)) == 99


def test_past_its_date_is_refused_at_once_and_said_of_a_note(farm: Farm, post: Post) -> None:
    old, today = came_in(farm, days=-1), came_in(farm, days=0)
    (refused,) = post(sent(farm, "used", old, detail={"quantity": 1}))
    assert (refused["outcome"], refused["code"], refused["state"]["left"]) == ("refused", "lot_expired", 40)
    (good,) = post(sent(farm, "used", today, detail={"quantity": 1}))
    assert (good["outcome"], "codes" in good) == ("recorded", False)
    (noted,) = post(sent(farm, "used", old, detail={"quantity": 1}), gate="note")
    assert (noted["outcome"], noted["codes"]) == ("recorded", ["lot_expired"])
    (thrown,) = post(sent(farm, "discarded", old, detail={"quantity": 39}))
    assert (thrown["outcome"], thrown["state"]["left"]) == ("recorded", 0)


def test_the_crew_that_is_given_goods_is_not_their_subject(farm: Farm, post: Post) -> None:
    red = farm.crews["red"]
    before = CrewState.objects.get(crew=red).fold
    lot = came_in(farm)
    (given,) = post(sent(farm, "given", lot, crew=red.pk, detail={"quantity": 1}))
    post(sent(farm, "reversed", lot, crew=red.pk, detail={"entry": given["id"]}))
    assert CrewState.objects.get(crew=red).fold == before
    post(farm.entry("arrived", crew=red.pk, block="N4", at=timezone.now() - timedelta(hours=2)), gate="note")
    assert Visit.objects.filter(crew=red).count() == 1
    assert left(lot) == 40
    assert verify_book().clean


def test_states_of_lots_are_verified_and_rebuilt(farm: Farm, post: Post) -> None:
    lots = [came_in(farm, days=days, quantity=10 + days) for days in (5, 0, 90)]
    post(*(sent(farm, "used", lot, detail={"quantity": 0.1}) for lot in lots))
    post(sent(farm, "used", lots[0], detail={"quantity": 99}), gate="note")
    rows = list(LotState.objects.order_by("pk").values())
    LotState.objects.filter(pk=lots[0]).update(left=3)
    LotState.objects.filter(pk=lots[1]).delete()
    LotState.objects.create(pk=new_id(), left=1)
    found = {(each.code, each.params.get("columns", "")) for each in verify_book().findings}
    assert found == {("state_differs", "left"), ("state_gone", ""), ("state_left_over", "")}
    done = rebuild_states()
    assert (done.lots, done.removed, done.broken) == (3, 1, [])
    assert list(LotState.objects.order_by("pk").values()) == rows
    assert verify_book().clean
    Discrepancy.objects.filter(lot=lots[0]).delete()
    assert {each.code for each in verify_book().findings} == {"discrepancies_differ"}
    rebuild_states()
    assert verify_book().clean, connection.vendor


def test_the_chain_of_a_book_without_lots_has_no_word_of_them(farm: Farm) -> None:
    """So that what was sealed before there were any still verifies."""
    entry = Entry.objects.order_by("position").first()
    assert entry is not None
    columns = columns_of(entry)
    assert columns.pop("lot") is None
    assert b'"lot"' not in chain.canonical(columns)
    assert chain.seal(chain.START, columns) == entry.digest


def contested(farm: Farm, post: Post, **fields: Any) -> tuple[UUID, str]:
    """A lot of which a phone tells that more was used than was there; and that line."""
    lot = came_in(farm, quantity=5)
    (noted,) = post(sent(farm, "used", lot, detail={"quantity": 8}, **fields), gate="note")
    assert [found["code"] for found in noted["discrepancies"]] == ["more_than_left"]
    return lot, noted["id"]


@pytest.mark.parametrize(
    ("choice", "after", "verbs"),
    [
        ("counted", 0, ["counted", "settled"]),
        ("so_it_was", 0, ["settled"]),
        ("struck", 5, ["reversed", "settled"]),
    ],
)
def test_more_than_was_left_is_settled(farm: Farm, post: Post, client_of, choice, after, verbs) -> None:
    lot, entry = contested(farm, post)
    client = client_of("rosa")
    shown = " ".join(client.get("/settle/").content.decode().split())
    assert f'<a href="/goods/lots/{lot}/">Plasters, no lot number, received' in shown
    assert "“Used otherwise: 8 pieces.” But by the book less than that was left." in shown
    assert "the book is right, with 0 pieces left." in shown
    client.post(f"/settle/told/more_than_left/{entry}/", {"choice": choice})
    assert left(lot) == after
    assert sorted(Entry.objects.filter(lot=lot).values_list("verb", flat=True)[2:]) == verbs
    assert not Discrepancy.objects.filter(settled=False).exists()
    assert verify_book().clean
    if choice != "struck":
        assert "Plasters" in client.get("/settle/?list=settled").content.decode()


TOLD = ("id", "verb", "store", "item", "crew", "picker", "lot", "happened_at", "detail")


def played(season: Season, *, without: bool) -> tuple[list[Any], dict[str, bool], Sequence[Any]]:
    """What a season writes, what runs low in the end and what is wrong with the book; all of it undone again."""
    with transaction.atomic():
        if without:
            Goods.objects.all().delete()
        simulate_season(season)
        told = list(Entry.objects.order_by("happened_at", "id").values(*TOLD))
        low = {held.goods.pk: held.low for held in shelf("HOME", timezone.localdate())}
        findings = [] if without else verify_book().findings
        transaction.set_rollback(True)
    return told, low, findings


@pytest.mark.only_on("sqlite")
@pytest.mark.django_db
def test_a_season_uses_goods_and_is_otherwise_the_same() -> None:
    """Its stream of chances is its own."""
    season = Season(timezone.localdate() - timedelta(days=1), days=9, seed=5)
    found_estate(season)
    bare, nothing, _none = played(season, without=True)
    whole, low, findings = played(season, without=False)
    assert not findings
    assert [line for line in whole if line["lot"] is None] == bare
    of_lots = {line["verb"] for line in whole if line["lot"]}
    assert of_lots == {"received", "given", "used", "counted", "discarded"}
    assert (len(nothing), len(low)) == (0, 10)
    assert set(low.values()) == {True, False}
