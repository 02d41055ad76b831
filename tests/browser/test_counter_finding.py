"""No badge today: find by name, lend a day card, take on someone new."""

import pytest
from playwright.sync_api import Page, expect

from crews.models import BadgeLoan, Picker
from equipment.models import Membership
from tests.cast import Farm, day_card
from tests.counter import Counter, where

pytestmark = pytest.mark.django_db(transaction=True)


def type_name(at_counter: Counter, text: str) -> None:
    at_counter.page.keyboard.type(text, delay=90)


def take_on(page: Page) -> None:
    """Nobody is found: the line for someone new is the only one, and is chosen on purpose."""
    page.keyboard.press("Enter")
    expect(page.get_by_label("Name", exact=True)).to_be_hidden()
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")


def test_a_name_typed_on_the_bare_page_finds_and_serves(farm: Farm, at_counter: Counter) -> None:
    (bag,) = farm.gear("bag")
    type_name(at_counter, "red")  # by crew: both of them
    options = at_counter.page.get_by_role("option")
    expect(options).to_have_text([r"Ana · 1 · Red crew", r"Ben · 2 · Red crew", "Someone new: “red”"])
    at_counter.page.keyboard.press("ArrowDown")
    expect(options.nth(1)).to_have_attribute("aria-selected", "true")
    at_counter.page.keyboard.press("Enter")
    at_counter.says("none", "Ben")
    at_counter.scan_all(bag)
    assert where(bag) == ("picker", "Ben")


@pytest.mark.parametrize("typed", ["3", "cy", "Blue c"], ids=["number", "name", "crew"])
def test_by_number_name_or_crew(typed: str, farm: Farm, at_counter: Counter) -> None:
    type_name(at_counter, typed)
    at_counter.page.keyboard.press("Enter")
    at_counter.says("none", "Cy", "Blue crew")


def test_by_touch_and_escape_forgets(farm: Farm, at_counter: Counter) -> None:
    type_name(at_counter, "ana")
    at_counter.page.keyboard.press("Escape")
    expect(at_counter.page.get_by_role("listbox")).to_be_hidden()
    type_name(at_counter, "ana")
    at_counter.page.get_by_role("option", name="Ana · 1").click()
    at_counter.says("none", "Ana")


def test_the_day_card_tag_then_a_name_then_a_blank_card(farm: Farm, at_counter: Counter) -> None:
    card, (bag,) = day_card().pk, farm.gear("bag")
    at_counter.scan_all("day_card")
    at_counter.says("none", "A day card: for whom?")
    type_name(at_counter, "ben")
    at_counter.page.keyboard.press("Enter")
    at_counter.says("none", "Scan a blank day card for Ben")
    at_counter.scan_all(card)
    at_counter.says("none", "Ben", "Red crew")
    at_counter.scan_all(bag)
    assert where(bag) == ("picker", "Ben")
    assert BadgeLoan.objects.get(badge=card).picker == farm.pickers["ben"]


def test_a_blank_card_first_then_the_name(farm: Farm, at_counter: Counter) -> None:
    card = day_card().pk
    at_counter.scan_all(card)
    at_counter.says("none", "A blank day card", card)
    type_name(at_counter, "ana")
    at_counter.page.keyboard.press("Enter")
    at_counter.says("none", "Ana")
    assert BadgeLoan.objects.get(badge=card).picker == farm.pickers["ana"]


def test_whoever_has_no_card_is_asked_to_take_one(farm: Farm, at_counter: Counter) -> None:
    card = day_card().pk
    BadgeLoan.objects.filter(picker=farm.pickers["ben"]).delete()
    at_counter.page.reload()
    at_counter.ready()
    type_name(at_counter, "ben")
    at_counter.page.keyboard.press("Enter")
    at_counter.says("none", "Scan a blank day card for Ben", "Ben has no card today")
    at_counter.scan_all(farm.badges["ana"])  # somebody pushes in: served, and the card is not theirs
    at_counter.says("none", "Ana")
    at_counter.scan_all(card)
    at_counter.says("none", "A blank day card")


def test_someone_new_needs_a_name_and_a_crew_only(farm: Farm, at_counter: Counter) -> None:
    page, card, (bag,) = at_counter.page, day_card().pk, farm.gear("bag")
    type_name(at_counter, "Xola Mbeki")
    take_on(page)
    expect(page.get_by_label("Name", exact=True)).to_have_value("Xola Mbeki")
    page.get_by_label("Crew").select_option(label="Blue crew")
    page.keyboard.press("Enter")
    at_counter.says("none", "Scan a blank day card for Xola Mbeki")
    at_counter.scan_all(card, bag)
    at_counter.says("yes", "Picking bag for Xola Mbeki")
    new = Picker.objects.get(name="Xola Mbeki")
    assert Membership.objects.get(picker=new).crew == farm.crews["blue"]
    assert where(bag) == ("picker", "Xola Mbeki")


def test_a_new_picker_without_a_name_is_not_added(farm: Farm, at_counter: Counter) -> None:
    page = at_counter.page
    type_name(at_counter, "Xola")
    take_on(page)
    page.get_by_label("Name", exact=True).fill(" ")
    page.get_by_role("button", name="Take on").click()
    at_counter.says("no", "Not added")
    assert Picker.objects.count() == 3


def test_taking_back_by_name_shows_what_they_owe(farm: Farm, at_counter: Counter) -> None:
    (bag,) = farm.gear("bag")
    at_counter.scan_all(farm.badges["ana"], bag, "take_back")
    type_name(at_counter, "ana")
    at_counter.page.keyboard.press("Enter")
    at_counter.says("none", "Ana still owes 1", bag)
