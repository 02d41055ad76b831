"""Counted goods on their pages: what lies there, what comes in, is given, used, counted and thrown away."""

from typing import Any
from uuid import UUID

import pytest
from django.utils import timezone
from django.utils.formats import date_format

from equipment.actions.writing import new_id
from equipment.models import Entry, Goods, LotState
from tests.cast import Farm
from tests.lots import came_in, left


def text(response: Any) -> str:
    return " ".join(response.content.decode().split())


def verbs(lot: UUID) -> list[str]:
    return list(Entry.objects.filter(lot=lot).order_by("position").values_list("verb", flat=True))


def test_a_store_that_has_nothing_says_what_to_do(farm: Farm, client_of) -> None:
    shown = text(client_of("rosa").get("/goods/?store=A"))
    assert "No goods have come into this store yet." in shown
    assert "/goods/receive/?store=A" in shown


def test_what_comes_in_stands_there_once_however_often_it_is_sent(farm: Farm, client_of) -> None:
    client, own = client_of("rosa"), str(new_id())
    day = timezone.localdate() + timezone.timedelta(days=200)
    sent = {
        "own": own,
        "goods": "plasters",
        "quantity": "40",
        "lot_number": "P-7",
        "expires_on": day.isoformat(),
        "supplier": "the co-op",
    }
    for _turn in range(2):
        response = client.post("/goods/receive/?store=A", sent)
        assert response.status_code == 302, text(response)
    assert verbs(UUID(own)) == ["received"]
    shown = text(client.get("/goods/?store=A"))
    assert "lot P-7" in shown and "40 pieces" in shown
    lot = text(client.get(f"/goods/lots/{own}/"))
    assert "Received: Plasters, 40 pieces." in lot and "from the co-op" in lot


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"quantity": "0"}, "Give a number above zero."),
        ({"quantity": "-3"}, "Give a number above zero."),
        ({"goods": "bleach", "quantity": "0.0000001"}, "Give a number above zero."),
        ({"quantity": "2.5"}, "counted whole"),
        ({"quantity": "many"}, "is not a number"),
        ({"quantity": ""}, "required"),
        ({"goods": "caviar"}, "valid choice"),
        ({"expires_on": "2020-01-31"}, "past its date already"),
    ],
)
def test_what_cannot_come_in_is_said(farm: Farm, client_of, wrong, says) -> None:
    sent = {"own": str(new_id()), "goods": "plasters", "quantity": "40", **wrong}
    response = client_of("rosa").post("/goods/receive/?store=A", sent)
    assert response.status_code == 400
    assert says in text(response)
    assert not LotState.objects.exists()


def test_the_lot_that_expires_first_is_offered_first_and_another_may_be_taken(farm: Farm, client_of) -> None:
    late, early = came_in(farm, days=90, lot_number="LATE"), came_in(farm, days=9, lot_number="EARLY")
    client, red = client_of("rosa"), farm.crews["red"].pk
    page = client.get("/goods/take/plasters/?store=A")
    assert page.context["form"].initial["lot"] == str(early)
    shown = text(page)
    assert shown.index("lot EARLY") < shown.index("lot LATE")
    for lot in (early, late):
        sent = {"own": str(new_id()), "lot": str(lot), "quantity": "10", "what": "given", "crew": red}
        for _turn in range(2):
            assert client.post("/goods/take/plasters/?store=A", sent).status_code == 302
    assert (left(early), left(late)) == (30, 30)
    assert "Given to Red crew: 10 pieces." in text(client.get(f"/goods/lots/{early}/"))


def test_what_is_good_until_today_may_be_given_and_what_was_until_yesterday_not(
    farm: Farm, client_of
) -> None:
    today, gone = came_in(farm, days=0), came_in(farm, days=-1, lot_number="OLD")
    client, sent = client_of("rosa"), {"own": str(new_id()), "quantity": "1", "what": "other"}
    page = text(client.get("/goods/take/plasters/?store=A"))
    assert "Lot OLD was good until" in page and "neither given nor used" in page
    assert str(gone) not in page.split("<form", 2)[2].split("</form>")[0]
    assert client.post("/goods/take/plasters/?store=A", {**sent, "lot": str(gone)}).status_code == 400
    assert client.post("/goods/take/plasters/?store=A", {**sent, "lot": str(today)}).status_code == 302
    assert (left(today), left(gone)) == (39, 40)
    said = {"own": str(new_id()), "quantity": "40", "why": "past its date"}
    response = client.post(f"/goods/lots/{gone}/discard/", said)
    assert response.status_code == 302
    assert left(gone) == 0 and "past its date" in text(client.get(f"/goods/lots/{gone}/"))


def test_a_crew_is_named_and_no_more_is_taken_than_there_is(farm: Farm, client_of) -> None:
    lot = came_in(farm, quantity=5)
    client = client_of("rosa")
    sent = {"own": str(new_id()), "lot": str(lot), "quantity": "6", "what": "given"}
    assert "Say which crew gets it." in text(client.post("/goods/take/plasters/?store=A", sent))
    sent["crew"] = farm.crews["red"].pk
    response = client.post("/goods/take/plasters/?store=A", sent)
    assert response.status_code == 400 and "more than is left" in text(response)
    assert left(lot) == 5


def test_fractions_of_what_is_poured_leave_nothing_behind(farm: Farm, client_of) -> None:
    lot, client = came_in(farm, "oil", 0.3), client_of("mo")
    for quantity in ("0,1", "0.2"):
        sent = {"own": str(new_id()), "lot": str(lot), "quantity": quantity, "what": "mend"}
        assert client.post("/goods/take/oil/?store=A", sent).status_code == 302
    assert left(lot) == 0


def test_all_lots_are_counted_on_one_page_and_only_what_differs_is_written(farm: Farm, client_of) -> None:
    same, fewer, passed = came_in(farm), came_in(farm, "oil", 2.5), came_in(farm, "thread", 100)
    client = client_of("rosa")
    assert all(f"left_{lot}" in text(client.get("/goods/count/?store=A")) for lot in (same, fewer, passed))
    sent = {f"left_{same}": "40", f"left_{fewer}": "2,25", f"left_{passed}": ""}
    sent |= {f"was_{same}": "40.0", f"was_{fewer}": "2.5", f"was_{passed}": "100.0"}
    shown = text(client.post("/goods/count/?store=A", sent))
    assert "−0.25" in shown and "1 lot agrees" in shown and "1 lot was not counted" in shown
    assert not Entry.objects.filter(verb="counted").exists()
    assert client.post("/goods/count/?store=A", {**sent, "confirmed": "1"}).status_code == 302
    assert [entry.lot for entry in Entry.objects.filter(verb="counted")] == [fewer]
    assert (left(same), left(fewer), left(passed)) == (40, 2.25, 100)


def test_what_changed_while_it_was_counted_is_shown_again(farm: Farm, client_of) -> None:
    lot, client = came_in(farm), client_of("rosa")
    sent = {f"left_{lot}": "38", f"was_{lot}": "40.0"}
    taken = {"own": str(new_id()), "lot": str(lot), "quantity": "2", "what": "other"}
    client.post("/goods/take/plasters/?store=A", taken)
    shown = text(client.post("/goods/count/?store=A", {**sent, "confirmed": "1"}))
    assert "came in meanwhile" in shown and "agrees with the book" in shown
    assert not Entry.objects.filter(verb="counted").exists()


@pytest.mark.parametrize("said", ["-1", "1.5", "x", "1e9"])
def test_what_cannot_be_counted_is_said_beside_it(farm: Farm, client_of, said) -> None:
    lot = came_in(farm)
    response = client_of("rosa").post("/goods/count/?store=A", {f"left_{lot}": said, f"was_{lot}": "40.0"})
    assert response.status_code == 400
    assert 'aria-invalid="true"' in text(response) and f'value="{said}"' in text(response)


def test_nothing_counted_and_nothing_there(farm: Farm, client_of) -> None:
    client = client_of("rosa")
    assert "no counted goods lie in this store" in text(client.get("/goods/count/?store=A"))
    came_in(farm)
    assert "Nothing is counted yet" in text(client.post("/goods/count/?store=A", {}))


def test_a_line_is_struck_unless_others_stand_on_it(farm: Farm, client_of) -> None:
    lot, client = came_in(farm), client_of("rosa")
    client.post(
        "/goods/take/plasters/?store=A",
        {"own": str(new_id()), "lot": str(lot), "quantity": "10", "what": "other"},
    )
    came, used = Entry.objects.filter(lot=lot).order_by("position").values_list("pk", flat=True)
    said = client.post(f"/goods/lots/{lot}/strike/", {"entry": str(came)}, follow=True)
    assert "more was taken of the lot" in text(said)
    client.post(f"/goods/lots/{lot}/strike/", {"entry": str(used)})
    assert left(lot) == 40
    assert "taken back" in text(client.get(f"/goods/lots/{lot}/"))
    assert "struck already" in text(
        client.post(f"/goods/lots/{lot}/strike/", {"entry": str(used)}, follow=True)
    )
    assert (
        client.post(f"/goods/lots/{lot}/strike/", {"entry": str(came)}).headers["Location"]
        == "/goods/?store=A"
    )
    assert client.get(f"/goods/lots/{lot}/").status_code == 404
    assert verbs(lot) == ["received", "used", "reversed", "reversed"]


def test_a_line_is_struck_by_those_only_who_might_have_written_it(farm: Farm, client_of) -> None:
    lot = came_in(farm)
    came = Entry.objects.get(lot=lot)
    assert client_of("mo").post(f"/goods/lots/{lot}/strike/", {"entry": str(came.pk)}).status_code == 403
    assert client_of("rosa").post(f"/goods/lots/{lot}/strike/", {"entry": "x"}).status_code == 404
    elsewhere = came_in(farm)
    other = Entry.objects.get(lot=elsewhere)
    assert client_of("rosa").post(f"/goods/lots/{lot}/strike/", {"entry": str(other.pk)}).status_code == 404


def test_the_farm_adds_goods_of_its_own_and_sets_what_is_low(farm: Farm, client_of) -> None:
    client = client_of("olga")
    new = {"name": "Sun cream", "unit": "litre", "used_for": "hands", "low": "2"}
    for code in ("sun_cream", "sun_cream_2"):
        assert client.post("/goods/kinds/new/", new).status_code == 302
        assert Goods.objects.get(pk=code).own
    assert client.post("/goods/kinds/new/", {**new, "low": "-1"}).status_code == 400
    kept = {"name": "Plasters", "used_for": "first_aid", "low": "500"}
    assert client.post("/goods/kinds/plasters/", kept).status_code == 302
    assert (Goods.objects.get(pk="plasters").low, Goods.objects.get(pk="plasters").unit) == (500, "piece")
    came_in(farm)
    assert "40 pieces, should be at least 500 pieces" in text(client.get("/goods/?store=A"))


def test_the_board_tells_what_runs_low_and_what_is_past_its_date(farm: Farm, client_of) -> None:
    came_in(farm, quantity=60, days=-1)
    came_in(farm, "thread", 500, days=31)
    came_in(farm, "eye_wash", 500, days=30)
    shown = text(client_of("rosa").get("/"))
    last = date_format(timezone.localdate() + timezone.timedelta(days=30), "j F")
    assert f"Store A has goods that are good for some days only: Eye wash bottles ({last})." in shown
    assert "Store A runs low: Plasters (0 pieces)." in shown
    assert "Store A has goods past their date: Plasters." in shown
    assert "Waxed thread" not in shown and "/goods/?store=A" in shown
    assert "runs low" not in text(client_of("sam").get("/"))


def test_disinfectants_have_their_cautions_beside_them(farm: Farm, client_of) -> None:
    bleach, plasters = came_in(farm, "bleach", 20), came_in(farm)
    client = client_of("rosa")
    for address in (
        f"/goods/lots/{bleach}/",
        "/goods/take/bleach/?store=A",
        "/goods/receive/?store=A&goods=bleach",
    ):
        assert "Never with acid (vinegar included) or ammonia" in text(client.get(address)), address
    assert "Never with acid" not in text(client.get(f"/goods/lots/{plasters}/"))


def test_a_lot_of_another_store_is_not_a_supervisors(farm: Farm, client_of) -> None:
    lot = came_in(farm, store="B")
    assert client_of("sam").get(f"/goods/lots/{lot}/").status_code == 404
    assert client_of("rosa").get(f"/goods/lots/{lot}/").status_code == 200


def test_searching_the_shelf(farm: Farm, client_of) -> None:
    came_in(farm)
    came_in(farm, "thread", 100)
    client = client_of("rosa")
    found = text(client.get("/goods/?store=A&q=thr"))
    assert "Waxed thread" in found and "Plasters" not in found.split("goods-lots", 1)[1]
    assert "No goods here are called that." in text(client.get("/goods/?store=A&q=caviar"))


def test_lists_cost_the_same_however_many_lots(farm: Farm, client_of, django_assert_max_num_queries) -> None:
    client, many = client_of("rosa"), came_in(farm)

    def cost(address: str) -> None:
        with django_assert_max_num_queries(12):
            client.get(address)

    pages = [f"/goods/{page}?store=A" for page in ("", "count/", "take/plasters/", f"lots/{many}/")]
    for address in pages:
        client.get(address)
        cost(address)
    for number in range(12):
        came_in(farm, days=number, quantity=10 + number)
        came_in(farm, "oil", 1 + number)
        pen = farm.pen()
        pen.record([pen.draft("used", lot=many, detail={"quantity": 1})])
    for address in pages:
        cost(address)
