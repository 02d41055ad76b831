"""Whatever the scanner types, wherever the focus: nothing is lost, counted twice, or pressed by it."""

import re
import time
from datetime import timedelta
from itertools import product

import pytest
from django.utils import timezone
from playwright.sync_api import Page, Route, expect

from equipment.models import Attempt, Entry
from tests.cast import Farm
from tests.counter import TAGS, Counter, where

pytestmark = pytest.mark.django_db(transaction=True)
QUIET = 200  # ms: longer than the pause that ends a scan without Enter


def test_any_ending_and_any_wrapping(farm: Farm, at_counter: Counter) -> None:
    """In any case, inside an address of any host, with a scanner's own marks; ended by Enter, Tab or nothing."""
    wraps = ["{}", "]Q3{}", "*{}*", "https://elsewhere.example/t/{}?x=1", "lower"]
    pairs = list(product(wraps, ["Enter", "Tab", ""]))
    at_counter.scan_all(farm.badges["ana"])
    for bag, (around, end) in zip(farm.gear("bag", len(pairs)), pairs, strict=True):
        at_counter.scan(bag.lower() if around == "lower" else around.format(bag), end)
        at_counter.page.wait_for_timeout(QUIET)
        at_counter.settle()
        assert where(bag) == ("picker", "Ana"), (around, end)


def test_a_scanner_that_stutters_loses_nothing(farm: Farm, at_counter: Counter) -> None:
    """Half-way through the code it halts for longer than a scanner does, as on a busy computer."""
    at_counter.scan_all(farm.badges["ana"])
    for bag, end in zip(farm.gear("bag", 3), ["Enter", "Tab", ""], strict=True):
        at_counter.page.keyboard.type(bag[:4])
        at_counter.page.wait_for_timeout(QUIET)
        at_counter.scan(bag[4:], end)
        at_counter.page.wait_for_timeout(QUIET)
        at_counter.settle()
        assert where(bag) == ("picker", "Ana"), end
        expect(at_counter.page.get_by_role("combobox")).to_have_value("")


def test_a_scan_into_a_half_typed_name_leaves_the_name(farm: Farm, at_counter: Counter) -> None:
    """The page's clock is the test's: on a busy machine a scanner's keys may come as slowly as a hand's."""
    bag, other = farm.gear("bag", 2)
    page = at_counter.page
    field, clock = page.get_by_role("combobox"), page.clock
    clock.install()
    clock.pause_at(timezone.now() + timedelta(minutes=1))
    for letter in "be":
        field.press(letter)
        clock.run_for(120)
    for text in (farm.badges["ana"], bag):
        at_counter.scan(text)
        clock.run_for(QUIET)
    at_counter.settle()
    expect(field).to_have_value("be")
    assert where(bag) == ("picker", "Ana")
    at_counter.scan(other, end="")
    clock.run_for(QUIET)
    at_counter.settle()
    expect(field).to_have_value("be")
    assert where(other) == ("picker", "Ana")


def test_the_focus_may_be_on_a_button_and_the_second_enter_presses_nothing(
    farm: Farm, at_counter: Counter
) -> None:
    (bag,) = farm.gear("bag")
    at_counter.scan_all(farm.badges["ana"])
    at_counter.page.locator('[data-tag="take_back"]').focus()
    at_counter.scan(bag)
    at_counter.page.keyboard.press("Enter")  # the line feed after the carriage return
    at_counter.settle()
    assert where(bag) == ("picker", "Ana")
    expect(at_counter.page.locator(".mode")).to_have_attribute("data-mode", "out")
    at_counter.page.wait_for_timeout(QUIET)
    at_counter.page.keyboard.press("Enter")  # a hand's: the button is pressed
    expect(at_counter.page.locator(".mode")).to_have_attribute("data-mode", "back")


def slowly(page: Page, seconds: float) -> None:
    """Every request to the book takes so much longer."""

    def delayed(route: Route) -> None:
        time.sleep(seconds)
        route.continue_()

    page.route("**/api/entries/", delayed)


def test_nothing_is_lost_while_a_request_is_under_way(farm: Farm, at_counter: Counter) -> None:
    bags, clippers = farm.gear("bag", 3), farm.gear("clippers", 3)
    slowly(at_counter.page, 0.3)
    at_counter.scan_all(farm.badges["ana"], *bags, farm.badges["ben"], *clippers)
    out = (
        Entry.objects.filter(verb="handed_out").order_by("device_seq").select_related("item__state", "picker")
    )
    assert [entry.item.state.tag for entry in out] == bags + clippers
    assert [entry.picker.name for entry in out] == ["Ana"] * 3 + ["Ben"] * 3


def test_the_same_tag_twice_within_two_seconds_counts_once(farm: Farm, at_counter: Counter) -> None:
    (bag,) = farm.gear("bag")
    at_counter.scan_all(farm.badges["ana"], bag, bag, bag)
    at_counter.says("yes", "Picking bag for Ana")
    at_counter.page.wait_for_timeout(2100)
    at_counter.scan_all(bag)
    at_counter.says("no", "Ana has it already")
    assert (Entry.objects.filter(verb="handed_out").count(), Attempt.objects.count()) == (1, 1)


def test_a_code_typed_by_hand_counts_as_well(farm: Farm, at_counter: Counter) -> None:
    (bag,) = farm.gear("bag")
    at_counter.scan_all(farm.badges["ana"])
    at_counter.page.keyboard.type(bag, delay=250)  # a whole code within a second would be a scanner
    expect(at_counter.page.get_by_role("combobox")).to_have_value(bag)
    at_counter.page.keyboard.press("Enter")
    at_counter.says("yes", "Picking bag for Ana")
    expect(at_counter.page.get_by_role("combobox")).to_have_value("")


@pytest.mark.parametrize("touch", [False, True], ids=["keys", "touch"])
def test_keys_and_touch_do_what_the_counter_tags_do(touch: bool, farm: Farm, at_counter: Counter) -> None:
    page = at_counter.page

    def do(key: str) -> None:
        page.locator(".key", has_text=re.compile(rf"^{key}\b")).click() if touch else page.keyboard.press(key)
        at_counter.settle()

    do("F3")
    at_counter.says("none", "Scan what comes back")
    do("F2")
    at_counter.says("none", "Scan a badge")
    for key, said in {"F4": "Nothing to undo", "F5": "Nothing to move", "F6": "Waive for whom?"}.items():
        do(key)
        at_counter.says("no", said)
    do("F7")
    at_counter.says("no", "Only when taking back")
    do("F8")
    at_counter.says("none", "A day card: for whom?")
    do("F9")
    at_counter.says("none", "Scan a badge")
    for key, said in {"F10": "Which piece?", "F1": "Which piece?", "F12": "Nothing to let go"}.items():
        do(key)
        at_counter.says("no", said)
    assert len(TAGS) == 11


def test_no_shortcut_of_the_browser_is_taken_but_ours(farm: Farm, at_counter: Counter) -> None:
    """Control, Alt and the like stay the browser's: a key pressed with them is no scan."""
    at_counter.page.keyboard.press("Control+F4")
    at_counter.page.keyboard.press("Alt+q")
    at_counter.page.wait_for_timeout(QUIET)
    at_counter.says("none", "Scan a badge")
    expect(at_counter.page.get_by_role("combobox")).to_have_value("")
