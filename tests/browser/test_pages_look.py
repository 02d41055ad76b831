"""The board, the gear, an item's life and what is still out, on a phone and on the store's screen."""

from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from equipment.domain import codes
from equipment.models import Entry, ItemState
from tests.cast import Farm, found_farm
from tests.lots import came_in

PHONE, SCREEN = {"width": 390, "height": 844}, {"width": 1280, "height": 800}


@pytest.fixture
def farm(transactional_db):
    return found_farm()


@pytest.fixture
def told(farm: Farm) -> dict[str, str]:
    """A day's story: tags by what happened to them."""
    late, out, contested, undone, wet = farm.gear("bag", 5, days_ago=9, make="Draagsel", owner="Quillberg")
    (overalls,), (ladder,) = farm.gear("overalls", days_ago=9, size="L"), farm.gear("ladder", size="3 m")
    item = dict(ItemState.objects.values_list("tag", "item"))
    ana, ben, cy = (farm.pickers[name].pk for name in ("ana", "ben", "cy"))
    red, blue = farm.crews["red"].pk, farm.crews["blue"].pk
    now = timezone.now()
    pen = farm.pen()

    def entry(verb: str, tag: str, hours: int = 0, **fields):
        return pen.draft(verb, item=item[tag], happened_at=now - timedelta(hours=hours), **fields)

    handed = entry("handed_out", undone, 2, picker=ana, crew=red)
    drafts = [
        entry("handed_out", late, 60, picker=ben, crew=red),
        entry("handed_out", out, 3, picker=ana, crew=red),
        entry("handed_out", overalls, 200, picker=ana, crew=red),
        entry("handed_out", ladder, crew=red),
        entry("handed_out", contested, 4, picker=ana, crew=red),
        entry("handed_out", contested, 3, picker=cy, crew=blue, note="Cy says: <b>mine</b>"),
        handed,
        entry("reversed", undone, 1, crew=red, detail={"entry": str(handed.id)}),
        entry("handed_out", wet, 5, picker=ben, crew=red),
        entry("returned", wet, 1, crew=red, detail={"wet": True}),
    ]
    pen.record(drafts, "note")
    farm.plan("red", "N4")
    return {"late": late, "contested": contested, "undone": undone, "wet": wet, "overalls": overalls}


@pytest.mark.parametrize("size", [PHONE, SCREEN], ids=["phone", "screen"])
def test_every_page_can_be_used_by_everybody(farm: Farm, told, open_page, sign_in, axe, size):
    page = open_page(viewport=size)
    sign_in(page, farm.users["rosa"])
    paths = [
        "/",
        "/gear/",
        "/gear/?q=zeppelin",
        "/gear/?place=store&sort=-since",
        "/still-out/",
        "/still-out/season/",
    ]
    lot = came_in(farm, "bleach", 2, days=9)
    came_in(farm, days=-1, lot_number="P-7")
    goods = ("", "receive/", "count/", "take/bleach/", "kinds/", "kinds/bleach/", f"lots/{lot}/")
    paths += [f"/goods/{each}?store=A" for each in goods]
    for path in [*paths, "/still-out/?store=B", *(f"/gear/{tag}/" for tag in told.values())]:
        page.goto(path)
        axe(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= size["width"], path


def test_forms_of_an_item_can_be_used_by_everybody(farm: Farm, told, page, sign_in, axe):
    sign_in(page, farm.users["rosa"])
    page.goto(f"/gear/{told['wet']}/")
    for summary in page.locator("summary").all():
        summary.click()
    axe(page)


def test_an_empty_farm_says_what_to_do(farm: Farm, page, sign_in, axe):
    sign_in(page, farm.users["rosa"])
    for path in ("/", "/gear/", "/still-out/", "/still-out/season/"):
        page.goto(path)
        axe(page)


def test_a_wrong_code_gets_a_page_that_helps(farm: Farm, page, sign_in, axe, expect_problem):
    expect_problem("status of 404")
    sign_in(page, farm.users["rosa"])
    page.goto("/t/CL0001A")
    axe(page)
    page.keyboard.type("bag")  # the focus waits in the field
    page.keyboard.press("Enter")
    page.wait_for_url("**/gear/?q=*")
    assert "bag" not in page.url
    expect(page.get_by_role("searchbox")).to_have_value("bag")


@pytest.mark.every_database
def test_undoing_asks_first_and_works_by_keyboard(farm: Farm, told, page, sign_in, axe):
    sign_in(page, farm.users["rosa"])
    page.goto(f"/gear/{told['late']}/")
    before = Entry.objects.count()
    page.locator("summary", has_text="Undo the last line").focus()
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Undo the last line").focus()
    page.keyboard.press("Enter")
    box = page.get_by_role("dialog")
    assert "Take back “Handed out to Ben, Red crew.”" in box.inner_text()
    axe(page)
    page.keyboard.press("Escape")
    assert Entry.objects.count() == before
    page.get_by_role("button", name="Undo the last line").click()
    box.get_by_role("button", name="Undo the last line").click()
    page.get_by_text("Undone.").wait_for()
    assert Entry.objects.count() == before + 1
    assert ItemState.objects.get(tag=told["late"]).place == "store"


@pytest.mark.every_database
def test_a_new_label_can_be_scanned_into_the_page(farm: Farm, told, page, sign_in):
    sign_in(page, farm.users["rosa"])
    new = codes.make("BG", 900)
    page.goto(f"/gear/{told['wet']}/")
    page.locator("summary", has_text="New label").click()
    page.get_by_label("New label").fill("")
    page.get_by_label("New label").focus()
    page.keyboard.type(new.lower(), delay=8)
    page.keyboard.press("Enter")
    page.get_by_text(f"The new label {new} is in force").wait_for()
    page.goto(f"/gear/{told['wet']}/")
    page.get_by_text("was replaced").wait_for()


def test_the_board_refreshes_itself(farm: Farm, page, sign_in):
    sign_in(page, farm.users["rosa"])
    page.clock.install()
    page.goto("/")
    assert "no plan" in page.locator("table").first.inner_text()
    farm.plan("blue", "S2")
    page.clock.fast_forward(20_000)
    page.get_by_text("S2 orange, clipped").wait_for()


def test_what_is_still_out_prints_with_boxes_to_tick(farm: Farm, told, page, sign_in):
    sign_in(page, farm.users["rosa"])
    page.goto("/still-out/")
    assert page.locator(".tick:visible").count() == 0
    page.emulate_media(media="print")
    assert page.locator(".tick:visible").count() == page.locator(".held a.tag").count() > 0
    assert page.get_by_role("navigation").count() == 0
    assert not page.get_by_role("button", name="Print").is_visible()
