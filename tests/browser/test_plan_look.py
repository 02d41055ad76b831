"""The evening plan on a phone and on the store's screen, and a crew's morning reached without a mouse."""

from datetime import timedelta

import pytest
from django.utils import timezone

from equipment.actions.report_fault import report_fault
from tests.cast import Farm, found_farm
from tests.washing import states

PHONE, SCREEN = {"width": 390, "height": 844}, {"width": 1280, "height": 800}


@pytest.fixture
def farm(transactional_db):
    farm = found_farm(rules=True)
    farm.plan("red", "N4", days=1)
    farm.plan("red", "S2", days=-1)
    farm.gear("clippers", 12, days_ago=1)
    for tag in farm.gear("bag", 3, days_ago=1):
        report_fault(farm.pen(), states(tag)[0], "bag_hole")
    return farm


@pytest.mark.parametrize("size", [PHONE, SCREEN], ids=["phone", "screen"])
def test_every_page_can_be_used_by_everybody(farm: Farm, open_page, sign_in, axe, size):
    page = open_page(viewport=size)
    sign_in(page, farm.users["rosa"])
    past = (timezone.localdate() - timedelta(days=1)).isoformat()
    crew = farm.crews["red"].pk
    for path in (
        "/plan/",
        f"/plan/?day={past}",
        "/plan/?day=2099-01-01",
        f"/plan/crews/{crew}/",
        "/wash/?store=A",
    ):
        page.goto(path)
        for folded in page.locator("main details").all():
            folded.evaluate("(each) => { each.open = true; }")
        axe(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= size["width"], path


def test_from_the_plan_to_a_crew_s_morning_by_keyboard(farm: Farm, page, sign_in):
    sign_in(page, farm.users["sam"])
    page.goto("/plan/")
    page.get_by_role("link", name="Red crew").focus()
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="Spares to load").wait_for()
    assert (
        page.get_by_role("link", name="Print its morning sheet")
        .get_attribute("href")
        .endswith(f"crew={farm.crews['red'].pk}")
    )
    page.get_by_role("link", name="The whole plan").press("Enter")
    page.get_by_text("Tonight:").wait_for()
