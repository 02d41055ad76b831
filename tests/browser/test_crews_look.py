"""The pages about people, places, plans and lists in a real browser: accessible, and whole at 390 and 1280 px."""

from collections.abc import Callable
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from crews.models import Badge, BadgeLoan
from equipment.models import ItemState, Membership
from tests.cast import Farm, found_farm

SIZES = {"phone": {"width": 390, "height": 844}, "desk": {"width": 1280, "height": 900}}
BAD = b"number,name,crew,hand\n9,Dan,Green crew,right\n8,,Red crew,sideways\n"
GOOD = b"number,name,crew\n1,Ana Maria,Blue crew\n9,Dan with a rather long name of many parts,Red crew\n"


@pytest.fixture
def farm(transactional_db: None) -> Farm:
    return found_farm()


@pytest.fixture(params=SIZES.values(), ids=SIZES)
def sheet(request: Any, page: Page, farm: Farm, sign_in: Callable[[Page, Any], None]) -> Page:
    """Frank's browser."""
    page.set_viewport_size(request.param)
    sign_in(page, farm.users["frank"])
    return page


def check(page: Page, axe: Callable[[Page], None]) -> None:
    axe(page)
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"), page.url


def test_every_page_with_something_on_it(sheet: Page, farm: Farm, axe: Any) -> None:
    plan = farm.plan("red", "N4", state="stopped")
    plan.changes.create(at=timezone.now(), by=farm.users["sam"], state="stopped", why="wet fruit")
    farm.plan("red", "S2", days=1)
    tags = farm.gear("bag", 3)
    pen = farm.pen()
    red, ana = farm.crews["red"].pk, farm.pickers["ana"].pk
    items = ItemState.objects.filter(tag__in=tags).values_list("item", flat=True)
    pen.record([pen.draft("handed_out", item=item, crew=red, picker=ana) for item in items])
    BadgeLoan.objects.filter(picker=farm.pickers["ben"]).delete()
    Badge.objects.filter(pk=farm.badges["ana"]).update(died_on=plan.date, why="lost")
    pages = [
        "/crews/",
        f"/crews/{red}/",
        f"/crews/{red}/training/",
        "/pickers/",
        f"/pickers/{ana}/",
        "/blocks/",
        "/blocks/N4/",
        "/plans/",
    ]
    pages += [f"/plans/{plan.pk}/", "/plans/new/", "/stores/", "/stores/A/", "/import/", "/pickers/?q=nobody"]
    for address in pages:
        sheet.goto(address)
        check(sheet, axe)


def test_every_page_with_nothing_on_it(sheet: Page, farm: Farm, axe: Any) -> None:
    Membership.objects.all().delete()
    for address in (
        "/crews/",
        f"/crews/{farm.crews['red'].pk}/",
        f"/pickers/{farm.pickers['ana'].pk}/",
        "/plans/",
    ):
        sheet.goto(address)
        check(sheet, axe)


def test_a_list_is_looked_at_put_right_and_written(sheet: Page, axe: Any) -> None:
    sheet.goto("/import/?kind=pickers")
    expect(sheet.get_by_label("What is in the list")).to_have_value("pickers")
    look(sheet, BAD)
    expect(sheet.get_by_text("Nothing was imported: 3 cells are to be put right.")).to_be_visible()
    check(sheet, axe)
    sheet.get_by_role("link", name="Choose the file again").click()
    look(sheet, GOOD)
    expect(sheet.get_by_text("Nothing is written yet")).to_be_visible()
    check(sheet, axe)
    sheet.get_by_role("button", name="Write it in the book").click()
    expect(sheet.get_by_text("The list is in the book.")).to_be_visible()
    check(sheet, axe)


def look(page: Page, data: bytes) -> None:
    page.get_by_label("File").set_input_files({"name": "season.csv", "mimeType": "text/csv", "buffer": data})
    page.get_by_role("button", name="Look at the file").click()


def test_pickers_are_moved_by_the_keyboard_alone(sheet: Page, farm: Farm, axe: Any) -> None:
    sheet.goto(f"/crews/{farm.crews['red'].pk}/")
    box = sheet.get_by_role("checkbox", name="Choose Ana")
    box.focus()
    sheet.keyboard.press("Space")
    expect(box).to_be_checked()
    sheet.get_by_role("button", name="They leave the farm").focus()
    sheet.keyboard.press("Enter")
    expect(sheet.get_by_role("heading", name="Leaving the farm")).to_be_visible()
    check(sheet, axe)
    sheet.get_by_role("button", name="Yes, they leave").focus()
    sheet.keyboard.press("Enter")
    expect(sheet.get_by_text("Ana has left.")).to_be_visible()
    check(sheet, axe)


def test_what_is_wrong_with_a_form_is_said_beside_it(sheet: Page, farm: Farm, axe: Any) -> None:
    farm.plan("red", "N4")
    sheet.goto(f"/plans/new/?crew={farm.crews['red'].pk}")
    sheet.get_by_label("Block").select_option("S2")
    sheet.get_by_role("button", name="Write it down").click()
    expect(sheet.get_by_text("Change that plan instead.")).to_be_visible()
    check(sheet, axe)


def test_a_block_is_deleted_only_after_a_yes(sheet: Page) -> None:
    sheet.goto("/blocks/S2/")
    sheet.get_by_role("button", name="Delete this block").click()
    expect(sheet.get_by_role("dialog")).to_contain_text("Delete block S2?")
    sheet.get_by_role("dialog").get_by_role("button", name="Delete").click()
    sheet.wait_for_url("**/blocks/")
    expect(sheet.get_by_text("Block S2 is deleted.")).to_be_visible()
