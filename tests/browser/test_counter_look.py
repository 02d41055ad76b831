"""The counter as it is read and touched: accessible in every state, nothing too small, nothing beside the page."""

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.cast import Farm
from tests.counter import Counter
from tests.farm import Post

pytestmark = pytest.mark.django_db(transaction=True)

SMALL = """() => [...document.querySelectorAll('.counter :is(button, a, input, select, [role=option])')]
  .filter((one) => one.getClientRects().length > 0)
  .filter((one) => one.getBoundingClientRect().height < 64)
  .map((one) => one.outerHTML)"""
TOO_WIDE = "document.documentElement.scrollWidth > document.documentElement.clientWidth"
# Big enough to read from two metres: 1/200 of the distance is 10 mm, about 38 CSS pixels on a common screen.
READABLE = 32
SIZES = "parseFloat(getComputedStyle(document.querySelector('.answer-say')).fontSize)"


@pytest.mark.parametrize("width", [390, 1280])
def test_every_state_is_accessible_and_fits(
    width: int,
    farm: Farm,
    at_counter: Counter,
    post: Post,
    axe: Callable[[Page], None],
    expect_problem: Callable[[str], None],
) -> None:
    expect_problem("ERR_INTERNET_DISCONNECTED")
    farm.plan("red", "N4")
    bag, other, third = farm.gear("bag", 3)
    post(farm.entry("handed_out", item=other, picker=farm.badges["ben"]))
    page = at_counter.page
    page.set_viewport_size({"width": width, "height": 800})

    def check() -> None:
        at_counter.settle()
        page.wait_for_timeout(250)
        axe(page)
        assert page.evaluate(SMALL) == []
        assert not page.evaluate(TOO_WIDE)
        assert page.evaluate(SIZES) >= READABLE
        expect(at_counter.answer).to_be_in_viewport()

    check()
    for scanned in (farm.badges["ana"], bag, other, "waive", farm.crews["red"].pk):
        at_counter.scan(scanned)
        check()
    at_counter.scan_all("day_card")
    page.keyboard.type("an", delay=90)
    axe(page)
    page.keyboard.press("Escape")
    page.context.set_offline(True)
    at_counter.scan_all(farm.badges["ana"], third)
    check()
    page.context.set_offline(False)
    at_counter.line("Every scan is in the book.")
    at_counter.scan_all("take_back", third, "came_back_wet")
    check()


@pytest.mark.parametrize("path", ["/counter/here/", "/counter/crew/{red}/"])
@pytest.mark.parametrize("width", [390, 1280])
def test_the_pages_beside_it(path: str, width: int, farm: Farm, page: Page, sign_in: Any, axe: Any) -> None:
    sign_in(page, farm.users["rosa"])
    page.set_viewport_size({"width": width, "height": 800})
    page.goto(path.format(red=farm.crews["red"].pk))
    axe(page)
    assert not page.evaluate(TOO_WIDE)


def test_a_browser_is_told_once_which_counter_it_is(farm: Farm, page: Page, sign_in: Any) -> None:
    sign_in(page, farm.users["rosa"])
    page.goto("/counter/")
    page.get_by_label("This is").select_option(str(farm.device.pk))
    page.get_by_role("button", name="Open this counter").click()
    Counter(page).ready()
    Counter(page).open()


def test_an_answer_is_announced_once_it_is_whole(farm: Farm, at_counter: Counter, post: Post) -> None:
    (bag,) = farm.gear("bag")
    post(farm.entry("handed_out", item=bag, picker=farm.badges["ana"]))
    expect(at_counter.answer).to_have_attribute("aria-live", "assertive")
    at_counter.page.evaluate(
        """() => {
          window.busy = [];
          const answer = document.querySelector('.answer');
          new MutationObserver(() => busy.push(answer.getAttribute('aria-busy')))
            .observe(answer, { attributes: true, attributeFilter: ['data-outcome'] });
        }"""
    )
    at_counter.scan_all("take_back", bag)
    at_counter.says("yes", "everything is back")
    # First the yes, still unfinished; then, with whose it was and what they owe, the whole of it.
    assert at_counter.page.evaluate("busy").count("true") == 1
    expect(at_counter.answer).to_have_attribute("aria-busy", "false")


def test_the_names_of_a_crew_show_until_the_next_scan(farm: Farm, at_counter: Counter) -> None:
    at_counter.scan_all(farm.badges["ana"])
    at_counter.page.get_by_role("button", name="Names").click()
    at_counter.shows("Still to come", "Ben")
    at_counter.scan_all(farm.badges["ana"], *farm.gear("bag"))
    at_counter.shows("Ana", "Not yet complete")
