"""The figures on a phone and on the office's screen: what to do, each page, and what stands behind it, by keyboard."""

import pytest
from playwright.sync_api import expect

from tests.cast import Farm, found_farm
from tests.wearing import worn

PHONE, SCREEN = {"width": 390, "height": 844}, {"width": 1280, "height": 800}
PATHS = ("", "lifetimes/", "lifetimes-clippers/", "spares/", "purchases/", "costs/")


@pytest.fixture
def farm(transactional_db):
    return found_farm(rules=True)


def test_the_figures_are_read_and_looked_behind(farm: Farm, open_page, sign_in, axe):
    worn(farm)
    phone = open_page(viewport=PHONE)
    sign_in(phone, farm.users["frank"])
    phone.goto("/figures/")
    expect(phone.get_by_text("put right what fails")).to_be_visible()
    phone.get_by_role("link", name="Clippers", exact=True).press("Enter")
    phone.get_by_text("Behind it, for who wants to look").first.press("Enter")
    expect(phone.get_by_text("Mean time between faults").first).to_be_visible()
    screen = open_page(viewport=SCREEN)
    sign_in(screen, farm.users["frank"])
    for page, size in ((phone, PHONE), (screen, SCREEN)):
        for path in PATHS:
            page.goto(f"/figures/{path}")
            fits(page, size, axe)
    assert screen.locator("img.chart").evaluate_all("all => all.every((image) => image.naturalWidth > 0)")


def fits(page, size, axe) -> None:
    axe(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"], page.url
    small = page.locator("main a.button, main button, main summary, main a.stand-alone").evaluate_all(
        "all => all.filter((e) => e.getBoundingClientRect().height < 43.5).map((e) => e.outerHTML)"
    )
    assert small == []
