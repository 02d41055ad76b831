"""The wash place with a scanner: mix a bath, dip by scanning, out when the time is up; and what happens otherwise.

The page's clock stands still and is moved on instead of waiting; what a page with a wrong clock sends, the book puts
right.
"""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

import pytest
from django.utils import timezone
from playwright.sync_api import Locator, Page, expect

from equipment.actions.bathing import Mixing
from equipment.models import BathState, Entry
from tests.cast import Farm, found_farm
from tests.counter import HEAR, TAGS
from tests.washing import dipped, mixed, sterile

pytestmark = pytest.mark.django_db(transaction=True)

PHONE, SCREEN = {"width": 390, "height": 844}, {"width": 1280, "height": 800}
BELL = 523  # the pitch that the timer's sound begins with; see sounds.js
TEN_MINUTES = 10 * 60 * 1000
SMALL = """() => [...document.querySelectorAll('.wash :is(button, a, input)')]
  .filter((one) => one.getClientRects().length > 0)
  .filter((one) => one.getBoundingClientRect().height < 64)
  .map((one) => one.outerHTML)"""
TOO_WIDE = "document.documentElement.scrollWidth > document.documentElement.clientWidth"


@pytest.fixture
def farm(transactional_db: None) -> Farm:
    return found_farm(rules=True)


class WashPlace:
    """The scanning page as somebody with a scanner has it."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.stands_still = False
        self.answer: Locator = page.locator(".answer")
        self.timer: Locator = page.get_by_role("timer")

    def open(self, way: str = "") -> "WashPlace":
        self.page.goto(f"/wash/dip/?store=A&way={way}")
        self.ready()
        return self

    def ready(self) -> None:
        """The page is there; from the first time on its clock stands still."""
        expect(self.page.locator('.wash[data-ready="true"]')).to_be_attached()
        if not self.stands_still:
            soon = self.page.evaluate("Date.now()") / 1000 + 1
            self.page.clock.pause_at(datetime.fromtimestamp(soon, UTC))
            self.stands_still = True

    def scan(self, *texts: str) -> None:
        for text in texts:
            self.page.keyboard.type(TAGS.get(text, text), delay=1)
            self.page.keyboard.press("Enter")
            expect(self.page.locator('.wash[data-waiting="0"]')).to_be_attached()

    def says(self, outcome: str, *words: str) -> None:
        expect(self.answer).to_have_attribute("data-outcome", outcome)
        for word in words:
            expect(self.answer).to_contain_text(word)


@pytest.fixture
def place(page: Page, farm: Farm, sign_in: Callable[[Page, Any], None]) -> WashPlace:
    """Mo, at a browser that is no counter."""
    page.add_init_script(HEAR)
    page.clock.install()
    sign_in(page, farm.users["mo"])
    return WashPlace(page)


def test_mix_dip_three_out_and_they_are_sterile(farm: Farm, place: WashPlace) -> None:
    """With the scanner alone, from the numbers to the book."""
    page, tags = place.page, farm.gear("clippers", 3, days_ago=1)
    page.goto("/wash/mix/")
    page.get_by_label("Recipe").select_option("clippers_daily_bleach")
    page.get_by_label("Litres of bath").fill("20")
    page.get_by_role("button", name="Work it out").click()
    expect(page.locator(".measure")).to_contain_text("1 part product + 9 parts water")
    page.get_by_label("Lot on the product's label").fill("B-2231")
    page.get_by_role("button", name="It is mixed: write it down").click()
    page.get_by_role("link", name="Dip here by scanning").click()
    place.ready()
    bath = BathState.objects.get()
    place.says("none", "Now: Clippers, every day")
    for tag in tags:
        place.scan(tag)
        place.says("yes", "In it goes", tag)
    expect(place.timer).to_have_text("10:00")
    page.clock.fast_forward(TEN_MINUTES)
    place.says("yes", "Time is up: take them out")
    expect(page.locator(".group")).to_have_attribute("data-state", "ready")
    assert BELL in page.evaluate("pitches")
    place.scan(str(bath.bath).upper())  # the bucket's own label
    place.says("yes", "Sterilised: 3")
    entries = list(Entry.objects.filter(verb="cleaned"))
    assert {entry.bath for entry in entries} == {bath.bath} and len({entry.act for entry in entries}) == 1
    assert all(entry.detail["seconds"] >= 600 and entry.detail["each_scanned"] for entry in entries)
    assert all(entry.happened_at <= timezone.now() for entry in entries)
    assert all(map(sterile, tags))
    expect(page.locator(".group")).to_have_count(0)


def test_too_early_asks_then_records_what_does_not_count(farm: Farm, place: WashPlace) -> None:
    one, two = farm.gear("clippers", 2, days_ago=1)
    place.open(f"bath:{mixed(farm)}").scan(one)
    place.page.clock.fast_forward(7 * 60 * 1000)
    place.scan("finish")
    place.says("partial", "Too early: 3:00 to go", "does not count")
    assert not Entry.objects.filter(verb="cleaned").exists()
    place.page.get_by_role("button", name="No, leave them in").click()
    place.scan(two)  # only the last one's start counts
    expect(place.timer).to_have_text("10:00")
    place.page.clock.fast_forward(8 * 60 * 1000)
    place.page.get_by_role("button", name="Out: write it down").click()
    place.says("partial", "Too early: 2:00 to go")
    place.scan("finish")
    place.says("no", "Written down, but 2 do not count", "acted for less than the recipe asks")
    assert [entry.detail["seconds"] // 60 for entry in Entry.objects.filter(verb="cleaned")] == [8, 8]
    assert not sterile(one) and not sterile(two)


def test_a_reload_in_the_middle_loses_no_piece_and_no_minute(farm: Farm, place: WashPlace) -> None:
    tags = farm.gear("clippers", 2, days_ago=1)
    place.open(f"bath:{mixed(farm)}").scan(*tags)
    place.page.clock.fast_forward(4 * 60 * 1000)
    place.page.reload()
    place.ready()
    expect(place.timer).to_have_text("6:00")
    expect(place.page.locator(".group-tags")).to_contain_text(tags[1])
    place.page.clock.fast_forward(6 * 60 * 1000)
    place.says("yes", "Time is up")
    place.page.keyboard.press("Enter")
    place.says("yes", "Sterilised: 2")
    assert all(map(sterile, tags))


def test_what_does_not_go_in(farm: Farm, place: WashPlace) -> None:
    (clippers,), (bag,) = farm.gear("clippers", days_ago=1), farm.gear("bag", days_ago=1)
    place.open()
    place.scan(clippers)
    place.says("no", "Which bath?")
    place.open(f"bath:{mixed(farm)}").scan(bag)
    place.says("no", "Not in this one")
    place.scan("CL0001A")
    place.says("no", "Misread")
    place.scan(clippers)
    place.says("yes", "In it goes")
    place.page.clock.fast_forward(2100)
    place.scan(clippers)
    place.says("no", "It is in already")
    place.scan("undo")
    place.says("yes", "Not in it after all", clippers)
    place.scan("finish")
    place.says("no", "Nothing is in")
    place.scan("00000000-0000-7000-8000-0000000000ff")
    place.says("no", "No bath to dip in")
    place.scan("waive")
    place.says("no", "Not here")
    assert {180, 660} <= set(place.page.evaluate("pitches"))
    assert not Entry.objects.filter(verb="cleaned").exists()


def test_two_groups_have_timers_of_their_own(farm: Farm, place: WashPlace) -> None:
    one, two = farm.gear("clippers", 2, days_ago=1)
    place.open(f"bath:{mixed(farm)}").scan(one)
    place.page.clock.fast_forward(5 * 60 * 1000)
    place.page.get_by_role("button", name="Begin another group").click()
    place.scan(two)
    expect(place.timer).to_have_text(["5:00", "10:00"])
    place.page.clock.fast_forward(5 * 60 * 1000)
    place.says("yes", "Time is up")
    place.scan("finish")  # the one that is ready
    place.says("yes", "Sterilised: 1")
    assert sterile(one) and not sterile(two)
    expect(place.timer).to_have_text(["5:00"])


def test_wash_and_dry_need_no_timer(farm: Farm, place: WashPlace) -> None:
    (bag,) = farm.gear("bag", days_ago=1)
    place.open()
    page = place.page
    page.get_by_role("button", name="Washing: soap and clean water").click()
    place.scan(bag)
    place.says("yes", "To be washed")
    expect(place.timer).to_have_count(0)
    page.get_by_role("button", name="Out: write it down").click()
    place.says("yes", "Washed: 1")
    page.get_by_role("button", name="Drying").click()
    page.clock.fast_forward(2100)
    page.get_by_label("Or type a code").fill(bag)
    page.get_by_label("Or type a code").press("Enter")
    place.says("yes", "To be dried")
    page.get_by_role("button", name="Out: write it down").click()
    place.says("yes", "Dried: 1")
    told = [
        (entry.detail["method"], entry.detail.get("recipe")) for entry in Entry.objects.filter(verb="cleaned")
    ]
    assert told == [("wash", "wash_soap"), ("dry", None)] and sterile(bag)


def test_a_line_that_is_cut_keeps_what_came_out(
    farm: Farm, place: WashPlace, expect_problem: Callable[[str], None]
) -> None:
    expect_problem("ERR_INTERNET_DISCONNECTED")
    (tag,) = farm.gear("clippers", days_ago=1)
    place.open(f"bath:{mixed(farm)}").scan(tag)
    place.page.clock.fast_forward(TEN_MINUTES)
    place.page.context.set_offline(True)
    place.scan("finish")
    place.says("note", "No line to the book")
    expect(place.page.locator(".group-state")).to_contain_text("waits for the line")
    place.page.context.set_offline(False)
    place.page.wait_for_timeout(500)  # the browser says "online", or else the page tries again by itself
    place.page.clock.fast_forward(16_000)
    place.says("yes", "Sterilised: 1")
    assert Entry.objects.get(verb="cleaned").detail["seconds"] < 700 and sterile(tag)


def test_a_counter_writes_as_that_counter(farm: Farm, place: WashPlace, sign_in: Any) -> None:
    page = place.page
    sign_in(page, farm.users["rosa"])
    page.goto("/counter/here/")
    page.get_by_label("This is").select_option(str(farm.device.pk))
    page.get_by_role("button", name="Open this counter").click()
    (bag,) = farm.gear("bag", days_ago=1)
    place.open("dry").scan(bag, "finish")
    place.says("yes", "Dried: 1")
    assert Entry.objects.get(verb="cleaned").device_id == farm.device.pk


def test_one_that_was_written_off_meanwhile_does_not_hold_up_the_others(
    farm: Farm, place: WashPlace, post: Any
) -> None:
    good, gone = farm.gear("clippers", 2, days_ago=1)
    place.open(f"bath:{mixed(farm)}").scan(good, gone)
    post(farm.entry("written_off", item=gone, detail={"circumstance": "worn_out"}, note="worn"))
    place.page.clock.fast_forward(TEN_MINUTES)
    place.scan("finish")
    place.says("no", "Not written down", gone, "Press “Out” again")
    place.scan("finish")
    place.says("yes", "Sterilised: 1")
    assert sterile(good)


def test_a_test_that_fails_makes_them_due_and_a_good_late_one_restores(farm: Farm, place: WashPlace) -> None:
    tags = farm.gear("clippers", 3, days_ago=1)
    bath = mixed(farm, 100)
    dipped(farm, bath, tags, ago=60)
    page = place.page
    page.goto(f"/wash/baths/{bath}/")
    page.get_by_label("Reading, ppm").fill("2 900,5")
    page.get_by_role("button", name="Write the test down").click()
    expect(page.get_by_text("Clippers that must be dipped again: 3.")).to_be_visible()
    assert not any(map(sterile, tags))
    page.goto("/wash/?store=A")
    expect(page.locator("#due-sterilise-clippers")).to_contain_text("its bath was not as it should be")
    page.goto(f"/wash/baths/{bath}/")
    read = timezone.localtime(timezone.now() - timedelta(minutes=20)).strftime("%Y-%m-%dT%H:%M")
    page.get_by_label("Reading, ppm").fill("505")
    page.get_by_label("Sample diluted, times").fill("10")
    page.get_by_label("Read at").fill(read)
    page.get_by_role("button", name="Write the test down").click()
    expect(page.get_by_text("Clippers whose dip counts again: 3.")).to_be_visible()
    assert all(map(sterile, tags))


def test_emptying_asks_first(farm: Farm, place: WashPlace) -> None:
    bath, page = mixed(farm), place.page
    page.goto(f"/wash/baths/{bath}/")
    page.get_by_label("a toilet or drain to a septic tank or sewer").check()
    page.get_by_role("button", name="It is emptied").click()
    page.get_by_role("dialog").get_by_role("button", name="No, go back").click()
    assert not Entry.objects.filter(verb="emptied").exists()
    page.get_by_role("button", name="It is emptied").click()
    page.get_by_role("dialog").get_by_role("button", name="It is emptied").click()
    page.wait_for_url("**/wash/?store=A")
    assert Entry.objects.filter(verb="emptied").count() == 1


@pytest.fixture
def busy(farm: Farm) -> dict[str, UUID]:
    """A wash place with something of everything: baths that are good, old, failed; what is due for every cause."""
    clippers = farm.gear("clippers", 16, days_ago=3)
    farm.gear("bag", 2, days_ago=3)
    good, old = mixed(farm, 10), mixed(farm, 300)
    quat = mixed(farm, 20, Mixing("canker_quat", 40, 800, 10, "Q-77"))
    dipped(farm, good, clippers[:2], ago=1)
    dipped(farm, old, clippers[2:5], ago=100)
    return {"good": good, "old": old, "quat": quat}


@pytest.mark.parametrize("size", [PHONE, SCREEN], ids=["phone", "screen"])
def test_every_page_can_be_used_by_everybody(
    size: Any, farm: Farm, busy: dict[str, UUID], open_page: Any, sign_in: Any, axe: Any
) -> None:
    page = open_page(viewport=size)
    sign_in(page, farm.users["rosa"])
    mix = "/wash/mix/?litres=20&recipe="
    paths = ["/wash/", "/wash/?store=B", "/wash/mix/", f"{mix}canker_chlorine", f"{mix}surfaces_powder"]
    paths += [f"{mix}clippers_alcohol", "/wash/crew/", "/wash/dip/", "/wash/dip/?store=B"]
    for path in [*paths, *(f"/wash/baths/{bath}/" for bath in busy.values())]:
        page.goto(path)
        axe(page)
        assert not page.evaluate(TOO_WIDE), path


@pytest.mark.parametrize("size", [PHONE, SCREEN], ids=["phone", "screen"])
def test_every_state_of_scanning_is_accessible_and_fits(
    size: Any, farm: Farm, busy: dict[str, UUID], place: WashPlace, axe: Any
) -> None:
    page, place.stands_still = place.page, True  # axe waits by the page's clock: it goes on
    page.set_viewport_size(size)
    place.open(f"bath:{busy['good']}")

    def check() -> None:
        page.clock.run_for(300)
        axe(page)
        assert page.evaluate(SMALL) == []
        assert not page.evaluate(TOO_WIDE)

    check()
    one, two = farm.gear("clippers", 2, days_ago=1)
    for scanned in (one, two, "CL0001A", "finish"):
        place.scan(scanned)
        check()
    page.clock.fast_forward(TEN_MINUTES)
    check()
    place.scan("finish")
    place.says("yes", "Sterilised: 2")
    check()


def test_an_empty_farm_says_what_to_do(farm: Farm, page: Page, sign_in: Any, axe: Any) -> None:
    sign_in(page, farm.users["rosa"])
    for path in ("/wash/", "/wash/dip/"):
        page.goto(path)
        axe(page)
    expect(page.get_by_text("No bath stands here that takes pieces.")).to_be_visible()
