"""What is due on the board, and a crew's day, on a phone and on the store's screen."""

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from equipment.models import Entry, ItemState
from tests.cast import Farm, found_farm
from tests.mornings import ago, clippers, dipped, handed, hours_up, told

SIZES = {"phone": {"width": 390, "height": 844}, "screen": {"width": 1280, "height": 900}}


@pytest.fixture
def farm(transactional_db: None) -> Farm:
    return found_farm(rules=True)


@pytest.fixture(params=SIZES.values(), ids=SIZES)
def sheet(request: Any, page: Page, farm: Farm, sign_in: Any) -> Page:
    """Sam's browser."""
    page.set_viewport_size(request.param)
    sign_in(page, farm.users["sam"])
    return page


def check(page: Page, axe: Any) -> None:
    axe(page)
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"), page.url


def today(farm: Farm) -> str:
    return f"/crews/{farm.crews['red'].pk}/today/"


def test_the_board_with_things_due(sheet: Page, farm: Farm, axe: Any) -> None:
    farm.plan("red", "N4")
    hours_up(farm, 18)
    later = clippers(farm, 6)
    dipped(farm, later, ago(hours=3))
    handed(farm, later, ago(hours=2, minutes=50), "ben")
    pen = farm.pen()
    own = pen.draft("left", crew=farm.crews["red"].pk).id
    mixed = {"recipe": "clippers_daily_bleach", "litres": 10, "product_ml": 1500, "strength_pct": 3.5}
    pen.record([pen.draft("mixed", bath=own, happened_at=ago(minutes=105), detail=mixed)])
    sheet.goto("/")
    check(sheet, axe)
    sheet.get_by_text("their 18 tags").click()
    expect(sheet.locator(".due-tags .tag").first).to_be_visible()
    check(sheet, axe)


def test_a_fold_that_was_opened_stays_open_when_the_board_refreshes(
    page: Page, farm: Farm, sign_in: Any
) -> None:
    tags = hours_up(farm, 2)
    sign_in(page, farm.users["rosa"])
    page.clock.install()
    page.goto("/")
    page.get_by_text("their 2 tags").click()
    hours_up(farm, 1)
    page.clock.run_for(20_000)
    expect(page.get_by_text("their 3 tags")).to_be_visible()
    expect(page.locator("[id^=due-]").get_by_role("link", name=tags[0])).to_be_visible()


def test_at_eleven_the_board_flags_the_crew_whose_hours_in_use_are_up(
    page: Page, farm: Farm, sign_in: Any
) -> None:
    """Told of the morning as it was: both crews dipped, and were handed their clippers; the red one has been in its
    block for four hours and five minutes, the blue one came an hour later."""
    red, blue = clippers(farm, 3), clippers(farm, 2)
    dipped(farm, red + blue, ago(hours=5, minutes=30))
    handed(farm, red, ago(hours=5))
    handed(farm, blue, ago(hours=5), "cy", "blue")
    told(farm, "arrived", ago(hours=4, minutes=5), block="N4")
    told(farm, "arrived", ago(hours=3, minutes=5), crew="blue", block="S2")
    sign_in(page, farm.users["rosa"])
    page.goto("/")
    now, soon = page.locator("ol.due").all()
    expect(page.get_by_role("heading", level=2)).to_contain_text(["Due now", "In the coming two hours"])
    expect(now.locator("li")).to_have_count(1)
    expect(now).to_contain_text("Red crew, N4")
    expect(now).to_contain_text("Clippers: 3 to sterilise")
    expect(now).to_contain_text("for 5 min: their hours in use are up.")
    expect(soon).to_contain_text("Blue crew, S2")
    now.get_by_role("link", name="Red crew, N4").click()
    expect(page.get_by_text("Dip now: 3 pieces are not sterile.")).to_be_visible()


def test_a_crews_day_with_nothing_told(sheet: Page, farm: Farm, axe: Any) -> None:
    sheet.goto(today(farm))
    check(sheet, axe)


def test_a_crews_day_told_by_thumb(sheet: Page, farm: Farm, axe: Any) -> None:
    farm.plan("red", "N4")
    hours_up(farm, 4)
    sheet.goto(today(farm))
    check(sheet, axe)
    for summary in sheet.locator("summary").all():
        summary.click()
    check(sheet, axe)
    sheet.get_by_label("Why", exact=True).select_option("rain")
    sheet.get_by_role("button", name="They stopped").click()
    expect(sheet.get_by_text("Written down: they stopped")).to_be_visible()
    sheet.get_by_role("button", name="Picking again in N4, now").click()
    expect(sheet.get_by_text("Written down: in N4 since")).to_be_visible()
    sheet.get_by_role("button", name="Take back Came into block N4.").first.click()
    sheet.get_by_role("dialog").get_by_role("button", name="Take it back").click()
    expect(sheet.get_by_text("Taken back. The line stays in the book, struck.")).to_be_visible()
    check(sheet, axe)


def test_the_morning_check_follows_the_head_count(sheet: Page, farm: Farm, axe: Any) -> None:
    farm.plan("red", "N4")
    sheet.goto(today(farm))
    sheet.get_by_text("Answer the morning check").click()
    sheet.get_by_label("How many are here?").fill("41")
    expect(sheet.get_by_text("for 41 here: 3 asked")).to_have_count(2)  # toilets and hand-washing
    sheet.get_by_label("How many are here?").fill("20")
    expect(sheet.get_by_text("for 20 here: 1 asked")).to_have_count(3)  # and the first-aid kit
    check(sheet, axe)
    numbers = {
        "nails still to cut": "0",
        "open wound": "1",
        "first-aid kits": "1",
        "water containers": "2",
        "toilets within": "1",
        "hand-wash stands": "1",
        "Temperature": "31,5",
        "humidity": "60",
        "cold front": "4",
    }
    for label, value in numbers.items():
        sheet.get_by_label(label).fill(value)
    for answer in sheet.get_by_label("yes", exact=True).all():
        answer.check()
    sheet.get_by_role("button", name="Write it down").click()
    expect(sheet.get_by_text("2 things are not in order:")).to_be_visible()
    expect(sheet.get_by_text("31.5 °C")).to_be_visible()
    check(sheet, axe)
    assert Entry.objects.get(verb="morning_checked").detail["answers"]["present"] == 20


def test_a_check_with_a_point_missing(sheet: Page, farm: Farm, axe: Any, expect_problem: Any) -> None:
    expect_problem("status of 400")
    sheet.goto(today(farm))
    sheet.get_by_text("Answer the morning check").click()
    sheet.locator("details.check form").evaluate("form => { form.noValidate = true; }")
    sheet.get_by_role("button", name="Write it down").click()
    expect(sheet.get_by_role("alert")).to_contain_text("How many are here?")
    check(sheet, axe)


def test_ones_own_page(sheet: Page, axe: Any) -> None:
    sheet.goto("/me/")
    check(sheet, axe)
    sheet.get_by_label("Mail me what is overdue in my crews").check()
    sheet.get_by_label("Mail address").fill("sam@farm.example")
    sheet.get_by_role("button", name="Write it down").click()
    expect(sheet.get_by_text("Written down.")).to_be_visible()


def test_times_are_those_of_the_farm(page: Page, farm: Farm, sign_in: Any) -> None:
    (tag,) = hours_up(farm, 1, late=timedelta(minutes=5))
    sign_in(page, farm.users["rosa"])
    page.goto("/")
    due = timezone.localtime(ItemState.objects.get(tag=tag).due_at)
    expect(page.locator(".due time").first).to_have_text(f"{due:%H:%M}")
