"""Of a ladder the book knows what its rating plate and a tape say: typed in, imported, shown, verified."""

from decimal import Decimal

import pytest
from django.utils import timezone

from equipment.actions.importing import import_list
from equipment.actions.verify_book.gear import gear_differs
from equipment.models import Item
from tests.cast import Farm

FACTS = {"material": "aluminium", "legs": "3", "length_m": "3.60", "rating_kg": "150"}
HEAD = "kind,store,count,material,legs,length_m,rating_kg"


def known(item: Item) -> tuple[str, int | None, Decimal | None, int | None]:
    return item.material, item.legs, item.length_m, item.rating_kg


@pytest.fixture
def bring(farm: Farm):
    def importing(*lines: str):
        data = "\n".join([HEAD, *lines]).encode()
        return import_list("gear", data, farm.users["frank"], timezone.now(), dry_run=False)

    return importing


def test_registered_on_the_page_and_shown_on_its_own(farm: Farm, client_of):
    client = client_of("rosa")
    client.post("/gear/register/", {"kind": "ladder", "count": 1, "store": "A", **FACTS})
    item = Item.objects.get()
    assert known(item) == ("aluminium", 3, Decimal("3.60"), 150)
    html = client.get(f"/gear/{item.state.tag}/").content.decode()
    for words in ("aluminium", "3.60 m", "150 kg", "Duty rating"):
        assert words in html
    assert list(gear_differs()) == []


def test_only_ladders_have_them(farm: Farm, client_of):
    answer = client_of("rosa").post(
        "/gear/register/", {"kind": "bag", "count": 1, "store": "A", "material": "timber"}
    )
    assert "Only ladders have this" in answer.content.decode() and not Item.objects.exists()
    assert '<details class="fold" open>' in answer.content.decode()


def test_imported(bring):
    assert not bring('ladder,A,2,Timber,2,"2,4",130').bad
    assert {known(item) for item in Item.objects.all()} == {("timber", 2, Decimal("2.40"), 130)}
    assert list(gear_differs()) == []


@pytest.mark.parametrize(
    ("line", "column", "why"),
    [
        ("ladder,A,1,bamboo,2,3,130", "material", "Write one of"),
        ("ladder,A,1,timber,1,3,130", "legs", "2 or more"),
        ("ladder,A,1,timber,2,12,130", "length_m", "10 or less"),
        ("ladder,A,1,timber,2,3,heavy", "rating_kg", "whole number"),
        ("bag,A,1,,,,130", "rating_kg", "Only ladders"),
    ],
)
def test_a_list_that_cannot_be_is_refused_cell_by_cell(bring, line, column, why):
    result = bring(line)
    assert [(cell.column, why in cell.reason) for cell in result.bad] == [(column, True)]
    assert not Item.objects.exists()


def test_what_the_book_says_is_held_against_the_list_of_gear(farm: Farm):
    farm.gear("ladder", **FACTS)
    Item.objects.update(rating_kg=300)
    (found,) = gear_differs()
    assert found.params["columns"] == "rating_kg"
