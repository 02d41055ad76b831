"""An audit of 45 of 100 bags, by scanner and keys alone: one of them has a hole."""

import re

import pytest
from playwright.sync_api import Page, expect

from equipment.domain import fault_tags
from equipment.models import Audit, Entry
from tests.audits import tags
from tests.cast import Farm, found_farm

PHONE, SCREEN = {"width": 390, "height": 844}, {"width": 1280, "height": 800}


@pytest.fixture
def farm(transactional_db):
    return found_farm(rules=True)


def scan(page: Page, code: str) -> None:
    page.locator("[data-ready]").wait_for()
    page.keyboard.type(code, delay=2)
    page.keyboard.press("Enter")


def test_45_of_100_bags_by_scanner_with_one_fault(farm: Farm, page: Page, sign_in, axe):
    bags = farm.gear("bag", 100)
    sign_in(page, farm.users["olga"])
    audit = draw(page)
    wrong, *good = tags(audit)

    scan(page, wrong)
    expect(page.locator("#open-piece")).to_contain_text(wrong)
    fits(page, axe)
    scan(page, fault_tags.code("bag_hole"))
    said(page, f"{wrong}: faulty (Hole). 44 are left.")

    page.keyboard.press("F1")
    expect(page.get_by_text("Every scan of a drawn piece now says")).to_be_visible()
    scan(page, next(tag for tag in bags if tag not in (wrong, *good)))
    said(page, "is not in the sample")
    for left, tag in reversed([*enumerate(reversed(good))]):
        scan(page, tag)
        if left:
            said(page, f"{tag}: good. {left} {'is' if left == 1 else 'are'} left.")
    said(page, f"{good[-1]}: good. All of them are answered")

    expect(page.get_by_role("heading", level=2).first).to_have_text(
        re.compile(r"1 faulty in 45 of 100: 95 % sure that at most 8 of the 100 are\.")
    )
    fits(page, axe)
    written = Entry.objects.filter(act=audit.act)
    assert written.filter(verb="inspected").count() == 44
    assert written.get(verb="fault_found").item.state.tag == wrong

    page.get_by_role("button", name="Close it: nothing of it changes").click()
    page.get_by_role("dialog").get_by_role("button", name="Close it").click()
    said(page, "The audit is closed")
    page.goto("/audits/")
    fits(page, axe)


def draw(page: Page) -> Audit:
    """Ask as the officer does: the page answers while the form is filled in."""
    page.goto("/audits/new/")
    page.get_by_label("What is audited?").select_option(label="Picking bag")
    expect(page.get_by_role("heading", name="Look at 45 of 100")).to_be_visible()
    page.get_by_label("So many faulty would be too many").fill("2")
    page.keyboard.press("Tab")
    expect(page.get_by_role("heading", name="Look at 78 of 100")).to_be_visible()
    page.get_by_label("So many faulty would be too many").fill("5")
    page.keyboard.press("Tab")
    expect(page.get_by_role("heading", name="Look at 45 of 100")).to_be_visible()
    page.get_by_role("button", name="Draw them").click()
    said(page, "45 of 100 are drawn")
    return Audit.objects.get()


def said(page: Page, words: str) -> None:
    expect(page.locator(".messages")).to_contain_text(words)


def fits(page: Page, axe) -> None:
    """Fit for everybody, on a phone and on a screen, with room for a finger."""
    axe(page)
    page.set_viewport_size(PHONE)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    small = "all => all.filter((e) => e.offsetParent && e.getBoundingClientRect().height < 44).map((e) => e.outerHTML)"
    assert page.locator("main :is(button, summary, a.tag)").evaluate_all(small) == []
    page.set_viewport_size(SCREEN)
