"""The bench and an item with faults on a phone and on a screen; the mender's work by scanner and keys alone."""

from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from equipment.actions.keep_photo import keep_photo
from equipment.actions.mend import Mend, mend
from equipment.actions.report_fault import report_fault
from equipment.actions.writing import Pen
from equipment.domain import fault_tags
from equipment.models import Entry, ItemState
from tests.cast import Farm, found_farm
from tests.pictures import file, plain

PHONE, SCREEN = {"width": 390, "height": 844}, {"width": 1280, "height": 800}


@pytest.fixture
def farm(transactional_db):
    return found_farm(rules=True)


@pytest.fixture
def bench(farm: Farm) -> dict[str, str]:
    """An afternoon's bench: tags by what is wrong with them."""
    farm.plan("red", "N4", days=1)
    blunt, rusty, _whole = farm.gear("clippers", 3, days_ago=9, make="Snawel", hand="left")
    (torn,), (cracked, waits) = farm.gear("bag", days_ago=9), farm.gear("ladder", 2, days_ago=9, size="3 m")
    (kit,) = farm.gear("first_aid_kit", days_ago=9, size="class A")
    now = timezone.now()
    photo = keep_photo(file(plain()), farm.users["rosa"], now)[0].pk
    found = [
        (blunt, "clippers_blunt", 1),
        (rusty, "clippers_light_rust", 5),
        (torn, "bag_torn_seam", 2),
        (cracked, "ladder_cracked_stile", 3),
        (cracked, "hurt_someone", 3),
        (waits, "ladder_loose_rung", 4),
    ]
    for tag, fault, days in found:
        pen = Pen(farm.users["rosa"], "A", now - timedelta(days=days))
        picture = photo if fault == "bag_torn_seam" else None
        report_fault(pen, ItemState.objects.get(tag=tag), fault, picture, note="left side, at the foot")
    mend(farm.pen("mo"), ItemState.objects.get(tag=waits), Mend("ladder_loose_rung", "new rung", 40))
    return {"blunt": blunt, "rusty": rusty, "torn": torn, "cracked": cracked, "waits": waits, "kit": kit}


def scan(page, code: str) -> None:
    page.locator("[data-ready]").wait_for()
    page.keyboard.type(code, delay=8)
    page.keyboard.press("Enter")


@pytest.mark.parametrize("size", [PHONE, SCREEN], ids=["phone", "screen"])
def test_bench_and_item_can_be_used_by_everybody(farm: Farm, bench, open_page, sign_in, axe, size):
    page = open_page(viewport=size)
    sign_in(page, farm.users["mo"])
    paths = ["/bench/", "/bench/?scan=good", "/bench/?kind=toilet"]
    paths += [f"/bench/?piece={tag}" for tag in bench.values()]
    paths += [f"/gear/{tag}/" for tag in bench.values()]
    for path in paths:
        page.goto(path)
        axe(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= size["width"], path


@pytest.mark.parametrize("where", ["/bench/?piece={tag}", "/gear/{tag}/"])
def test_every_form_can_be_used_by_everybody(farm: Farm, bench, page, sign_in, axe, where):
    sign_in(page, farm.users["mo"])
    for name in ("cracked", "kit", "waits"):
        page.goto(where.format(tag=bench[name]))
        page.evaluate("() => document.querySelectorAll('details').forEach((each) => { each.open = true; })")
        axe(page)


def test_an_empty_bench_says_what_to_do(farm: Farm, page, sign_in, axe):
    sign_in(page, farm.users["mo"])
    page.goto("/bench/")
    axe(page)
    page.get_by_text("Nothing lies on the bench.").wait_for()


def test_a_mend_by_scanner_and_keys_alone(farm: Farm, bench, page, sign_in):
    """The scan works wherever the focus is; the form opens filled, and Tab and Enter write it down."""
    sign_in(page, farm.users["mo"])
    page.goto("/bench/")
    page.locator("h1").click()  # nowhere in particular
    scan(page, bench["torn"])
    page.wait_for_url(f"**piece={bench['torn']}#piece")
    method = page.get_by_label("How it was mended")
    expect(method).to_be_focused()
    assert "strong waxed thread" in method.input_value()
    page.keyboard.press("Tab")
    page.keyboard.type("9")  # in place of the usual minutes, which stand there selected
    while page.evaluate("document.activeElement.tagName") != "BUTTON":
        page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.get_by_text(f"{bench['torn']} is mended.").wait_for()
    assert Entry.objects.get(verb="mended", item__labels=bench["torn"]).detail["minutes"] == 9


def test_a_stray_scan_loses_nothing_that_was_filled_in(farm: Farm, bench, page, sign_in):
    sign_in(page, farm.users["mo"])
    page.goto(f"/bench/?piece={bench['torn']}")
    page.locator("[data-ready]").wait_for()
    # On a busy machine a scanner's keys may come as slowly as a hand's, so the page's clock is the test's.
    page.clock.install()
    page.clock.pause_at(timezone.now() + timedelta(minutes=1))
    page.get_by_label("How it was mended").fill("sewn twice")
    scan(page, bench["blunt"])
    page.clock.run_for(500)
    page.get_by_text("not written down yet").wait_for()
    assert page.get_by_label("How it was mended").input_value() == "sewn twice"
    page.clock.resume()
    scan(page, bench["blunt"])
    page.wait_for_url(f"**piece={bench['blunt']}#piece")


def test_looked_over_all_good_one_scan_a_piece(farm: Farm, page, sign_in):
    sign_in(page, farm.users["mo"])
    tags = farm.gear("clippers", 3)
    page.goto("/bench/")
    page.locator("[data-ready]").wait_for()
    page.keyboard.press("F1")
    page.get_by_text("Every scan now says").wait_for()
    for tag in tags:
        scan(page, tag)
        page.get_by_text(f"{tag}: looked over, all good.").wait_for()
    page.locator("[data-ready]").wait_for()
    page.keyboard.press("F1")
    page.wait_for_url("**scan=open*")
    assert Entry.objects.filter(verb="inspected").count() == 3


def test_a_fault_is_said_by_its_tag(farm: Farm, page, sign_in):
    sign_in(page, farm.users["mo"])
    (tag,) = farm.gear("bag")
    page.goto("/bench/")
    scan(page, tag)
    page.wait_for_url("**#piece")
    scan(page, fault_tags.code("bag_hole"))
    page.get_by_text(f"{tag}: Hole is written down.").wait_for()


def test_the_bench_works_without_scripts(farm: Farm, bench, open_page, sign_in):
    page = open_page(java_script_enabled=False)
    sign_in(page, farm.users["mo"])
    page.goto("/bench/")
    page.get_by_label("Scan or type a tag").fill(bench["torn"])
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Mended", exact=True).click()
    page.get_by_text(f"{bench['torn']} is mended.").wait_for()
    page.get_by_label("says: looked over, all good").check()
    page.get_by_label("Scan or type a tag").fill(bench["torn"])
    page.keyboard.press("Enter")
    page.get_by_text(f"{bench['torn']}: looked over, all good.").wait_for()


def test_writing_off_at_the_bench_asks_first(farm: Farm, bench, page, sign_in, axe):
    sign_in(page, farm.users["mo"])
    page.goto(f"/bench/?piece={bench['cracked']}")
    page.locator("summary", has_text="Write off").click()
    page.get_by_label("Circumstance").select_option("broken")
    page.get_by_label("What happened").fill("cracked at the third rung")
    page.get_by_role("button", name="Write off").click()
    axe(page)
    page.get_by_role("dialog").get_by_role("button", name="Write off").click()
    page.get_by_text(f"{bench['cracked']} is written off.").wait_for()
