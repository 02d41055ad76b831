"""The disease trace on a phone and on the office's screen: asked, kept and flagged without a mouse."""

import pytest
from playwright.sync_api import expect

from equipment.models import Case, ItemState
from tests.cast import Farm, found_farm
from tests.traced import a_day

PHONE, SCREEN = {"width": 390, "height": 844}, {"width": 1280, "height": 800}


@pytest.fixture
def farm(transactional_db):
    return found_farm(rules=True)


def test_a_disease_is_traced_kept_and_flagged(farm: Farm, open_page, sign_in, axe):
    day = a_day(farm)
    phone = open_page(viewport=PHONE)
    sign_in(phone, farm.users["olga"])
    phone.goto("/trace/")
    axe(phone)
    phone.get_by_label("Block where it was found").select_option("N4")
    phone.get_by_label("Disease").select_option("exocortis")
    phone.get_by_label("Present since").fill(day.date.isoformat())
    phone.get_by_role("button", name="Trace it").press("Enter")
    expect(phone.get_by_text("3 pieces were reached.")).to_be_visible()
    fits(phone, PHONE, axe)
    phone.get_by_label("What was seen, by whom").fill("gum on the trunk")
    phone.get_by_role("button", name="Keep this case").press("Enter")
    expect(phone.get_by_role("status")).to_contain_text("Kept as case")
    fits(phone, PHONE, axe)
    phone.get_by_role("checkbox", name=f"Flag {day.cy}").press("Space")
    phone.get_by_role("button", name="Flag those that are ticked").press("Enter")
    expect(phone.get_by_role("status")).to_contain_text("1 piece is flagged.")
    assert {row.tag for row in ItemState.objects.all() if "disease_flag" in row.reasons} == {day.ana}

    screen = open_page(viewport=SCREEN)
    sign_in(screen, farm.users["olga"])
    for path in (
        "/trace/",
        f"/trace/{Case.objects.get().number}/",
        "/trace/?block=S9&disease=huanglongbing&since=2026-01-01",
    ):
        screen.goto(path)
        fits(screen, SCREEN, axe)
    screen.goto(f"/trace/{Case.objects.get().number}/")
    screen.get_by_label("Why the flags come off").fill("the laboratory found nothing")
    screen.get_by_role("button", name="Take all flags off").press("Enter")
    screen.get_by_role("button", name="Take them off", exact=True).press("Enter")
    expect(screen.get_by_role("status")).to_contain_text("1 flag is taken off.")


def fits(page, size, axe) -> None:
    axe(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"], page.url
    small = page.locator("main a.button, main button, .trace-tick label, .trace-tree a").evaluate_all(
        "all => all.filter((e) => e.getBoundingClientRect().height < 43.5).map((e) => e.outerHTML)"
    )
    assert small == []
