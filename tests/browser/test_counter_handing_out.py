"""Handing out at the counter, by scanner alone."""

import pytest
from playwright.sync_api import expect

from equipment.domain import codes
from equipment.models import Entry, ItemState
from tests.cast import Farm
from tests.counter import Counter
from tests.farm import Post

pytestmark = pytest.mark.django_db(transaction=True)


def place(tag: str) -> tuple[str, str | None]:
    state = ItemState.objects.select_related("picker").get(tag=tag)
    return state.place, state.picker.name if state.picker else None


def test_a_badge_then_items_then_the_next_badge(farm: Farm, at_counter: Counter) -> None:
    farm.plan("red", "S2")
    (bag,), (clippers,) = farm.gear("bag"), farm.gear("clippers")
    at_counter.scan_all(farm.badges["ana"])
    at_counter.says("none", "Ana", "To give: Picking bag, Clippers")
    at_counter.shows("Ana", "Red crew", "S2 orange", "Not yet complete")
    at_counter.scan_all(bag)
    at_counter.says("yes", "Picking bag for Ana", bag)
    at_counter.scan_all(clippers)
    at_counter.shows("Kit is complete", bag, clippers)
    at_counter.scan_all(farm.badges["ben"])
    at_counter.says("none", "Ben")
    assert (place(bag), place(clippers)) == (("picker", "Ana"), ("picker", "Ana"))
