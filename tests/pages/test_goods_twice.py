"""Pages of goods that are sent twice, gone back to, or overtaken: nothing is written twice or lost unsaid."""

from typing import Any

import pytest

from equipment.actions.writing import new_id
from equipment.models import Entry, LotState
from tests.cast import Farm
from tests.lots import came_in, left


def text(response: Any) -> str:
    return " ".join(response.content.decode().split())


@pytest.fixture
def rosa(farm: Farm, client_of: Any) -> Any:
    return client_of("rosa")


def own_in(page: str, name: str = "own") -> str:
    """The number that the form of this page will be written under."""
    return page.split(f'name="{name}" value="')[1].split('"')[0]


def test_another_delivery_told_by_the_page_of_the_first_is_asked_about(rosa: Any) -> None:
    """Whoever goes back in the browser has the same page, with the same number."""
    address, own = "/goods/receive/?store=A", str(new_id())
    first = {"own": own, "goods": "plasters", "quantity": "40", "lot_number": "P-7"}
    assert rosa.post(address, first).status_code == 302
    other = {**first, "quantity": "25", "lot_number": "P-8"}
    shown = rosa.post(address, other)
    assert shown.status_code == 400 and LotState.objects.count() == 1
    assert "“Received: Plasters, 40 pieces.” is in the book" in text(shown)
    assert "send it once more" in text(shown) and own_in(text(shown)) != own
    assert rosa.post(address, {**other, "own": own_in(text(shown))}).status_code == 302
    assert sorted(LotState.objects.values_list("lot_number", "left")) == [("P-7", 40), ("P-8", 25)]


def test_whoever_took_the_last_and_sends_it_again_is_told_that_it_is_in_the_book(
    farm: Farm, rosa: Any
) -> None:
    lot, own = came_in(farm, quantity=5), str(new_id())
    said = {"own": own, "lot": str(lot), "quantity": "5", "what": "mend"}
    for _turn in range(2):
        assert rosa.post("/goods/take/plasters/?store=A", said).status_code == 302
    assert "Already in the book." in text(rosa.get("/goods/?store=A"))
    assert Entry.objects.filter(lot=lot, verb="used").count() == 1


def test_another_quantity_told_by_the_page_of_the_first_is_asked_about(farm: Farm, rosa: Any) -> None:
    lot, own, address = came_in(farm, quantity=5), str(new_id()), "/goods/take/plasters/?store=A"
    said = {"own": own, "lot": str(lot), "quantity": "2", "what": "mend"}
    assert rosa.post(address, said).status_code == 302
    for change in ({"quantity": "1"}, {"what": "given", "crew": farm.crews["red"].pk}):
        shown = rosa.post(address, {**said, **change})
        assert shown.status_code == 400 and "“Used in a mend: 2 pieces.” is in the book" in text(shown)
        assert left(lot) == 3
    assert rosa.post(address, {**said, **change, "own": own_in(text(shown))}).status_code == 302
    assert left(lot) == 1


def test_what_is_thrown_away_is_so_once(farm: Farm, rosa: Any) -> None:
    lot = came_in(farm, quantity=40)
    own = own_in(text(rosa.get(f"/goods/lots/{lot}/")))
    said = {"own": own, "quantity": "10", "why": "wet through"}
    for _turn in range(2):
        answer = rosa.post(f"/goods/lots/{lot}/discard/", said, follow=True)
    assert left(lot) == 30 and "is not written twice" in text(answer)


def test_a_lot_that_was_counted_while_somebody_took_the_last_of_it_is_not_passed_over(
    farm: Farm, rosa: Any
) -> None:
    lot, other = came_in(farm, quantity=5), came_in(farm, quantity=7)
    sent = {f"was_{lot}": "5.0", f"left_{lot}": "4", f"was_{other}": "7.0", f"left_{other}": "7"}
    assert rosa.post("/goods/count/?store=A", sent).status_code == 200
    said = {"own": str(new_id()), "lot": str(lot), "quantity": "5", "what": "mend"}
    assert rosa.post("/goods/take/plasters/?store=A", said).status_code == 302
    shown = text(rosa.post("/goods/count/?store=A", {**sent, "confirmed": "1"}))
    assert "taken or came in meanwhile" in shown and f"left_{lot}" in shown and "+4" in shown
    assert not Entry.objects.filter(verb="counted").exists()


def test_a_count_that_is_sent_twice_is_written_once(farm: Farm, rosa: Any) -> None:
    lot = came_in(farm, quantity=5)
    sent = {f"was_{lot}": "5.0", f"left_{lot}": "4"}
    act = own_in(text(rosa.post("/goods/count/?store=A", sent)), "act")
    sent |= {"act": act, "confirmed": "1"}
    for _turn in range(2):
        assert rosa.post("/goods/count/?store=A", sent).status_code == 302
    assert Entry.objects.filter(verb="counted").count() == 1 and left(lot) == 4


def test_what_the_book_has_used_up_can_be_counted_all_the_same(farm: Farm, rosa: Any) -> None:
    lot, here = came_in(farm, quantity=5), came_in(farm, quantity=2)
    said = {"own": str(new_id()), "lot": str(lot), "quantity": "5", "what": "mend"}
    assert rosa.post("/goods/take/plasters/?store=A", said).status_code == 302
    shown = text(rosa.get("/goods/count/?store=A"))
    assert f"left_{here}" in shown and f"left_{lot}" not in shown
    address = "/goods/count/?store=A&used_up=1"
    assert address.replace("&", "&amp;").removeprefix("/goods/count/") in shown
    assert address.replace("&", "&amp;") in text(rosa.get(f"/goods/lots/{lot}/"))
    assert f"left_{lot}" in text(rosa.get(address))
    sent = {f"was_{lot}": "0.0", f"left_{lot}": "3", "confirmed": "1"}
    assert rosa.post("/goods/count/?store=A", sent).status_code == 302
    assert left(lot) == 3


def test_a_line_that_is_struck_twice_says_so(farm: Farm, rosa: Any) -> None:
    lot = came_in(farm, quantity=5)
    said = {"own": str(new_id()), "quantity": "1", "why": "wet"}
    rosa.post(f"/goods/lots/{lot}/discard/", said)
    entry = Entry.objects.get(verb="discarded")
    for _turn in range(2):
        answer = rosa.post(f"/goods/lots/{lot}/strike/", {"entry": str(entry.pk)}, follow=True)
    assert "struck already" in text(answer) and left(lot) == 5
    assert rosa.post(f"/goods/lots/{lot}/strike/", {"entry": "none"}).status_code == 404
