"""Registers on a phone and on the office's screen: last week printed in a few touches, a paper verified by scanner."""

from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from equipment.models import Printing
from tests.cast import Farm, found_farm
from tests.printing import at, write

PHONE, SCREEN = {"width": 390, "height": 844}, {"width": 1280, "height": 800}


@pytest.fixture
def farm(transactional_db) -> Farm:
    return found_farm(rules=True)


@pytest.mark.parametrize("size", [PHONE, SCREEN], ids=["phone", "screen"])
def test_audit_day(farm: Farm, open_page, sign_in, axe, expect_problem, size):
    bags = farm.gear("bag", 2, days_ago=20)
    week = timezone.localdate().weekday() + 5  # last week's Wednesday
    write(farm, "handed_out", at(week), bags[0], crew="red", picker="ana")
    write(farm, "fault_found", at(week), bags[1], detail={"fault": "bag_hole"})
    write(farm, "written_off", at(week - 1), bags[1], detail={"circumstance": "stolen"})
    page = open_page(viewport=size, accept_downloads=True)
    sign_in(page, farm.users["olga"])

    def looked_at():
        axe(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= size["width"], page.url

    page.goto("/")
    page.get_by_role("link", name="Registers", exact=True).click()
    page.get_by_role("heading", name="Registers").wait_for()
    looked_at()
    page.get_by_role("link", name="Handout", exact=True).click()
    expect(page.get_by_role("link", name="Last week")).to_have_attribute("aria-current", "true")
    expect(page.get_by_text("1 line.")).to_be_visible()
    looked_at()
    with page.expect_download() as download:
        page.get_by_role("button", name="CSV").click()
    printing = Printing.objects.get()
    assert download.value.suggested_filename.endswith(f"-{printing.code}.csv")
    assert (printing.register, printing.lines) == ("handout", 1)

    page.get_by_label("Until, that day included").fill(f"{timezone.localdate() - timedelta(days=900)}")
    page.get_by_label("Until, that day included").press("Enter")
    page.get_by_text("The last day lies before the first.").wait_for()
    looked_at()
    page.goto("/registers/charts/")
    expect(page.get_by_role("img", name="Faults by kind and type")).to_be_visible()
    assert page.evaluate(
        "[...document.querySelectorAll('img.chart')].every(i => i.complete && i.naturalWidth > 300)"
    )
    looked_at()

    page.goto("/verify/")
    looked_at()
    page.keyboard.type(f"{printing.code} {printing.digest}".upper(), delay=1)
    page.keyboard.press("Enter")
    page.get_by_text("This paper agrees with the book.").wait_for()
    looked_at()
    Printing.objects.update(lines=7)
    page.reload()
    page.get_by_text("This paper does not agree with the book.").wait_for()
    looked_at()
    expect_problem("status of 404")
    page.goto(f"/verify/{Printing(number=printing.number + 1).code}/")
    page.get_by_text("Nothing was ever printed under").wait_for()
    looked_at()
