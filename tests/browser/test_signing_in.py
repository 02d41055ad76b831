"""At a counter another storeman takes over by one touch and six digits; a supervisor by PIN on the phone."""

import re
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from crews import pins
from tests.cast import PASSWORD, Farm, found_farm, user
from tests.phones import code_of

PHONE = {"width": 390, "height": 844}


@pytest.fixture
def farm(transactional_db: None) -> Farm:
    farm = found_farm()
    for who, pin in (
        (farm.users["rosa"], "407192"),
        (user("pia", "storeman"), "815063"),
        (farm.users["sam"], "307192"),
    ):
        pins.set_pin(who, pin, timezone.now())
    return farm


def test_another_storeman_takes_over(farm: Farm, open_page: Any, sign_in: Any, axe: Any) -> None:
    page = open_page(viewport=PHONE)
    sign_in(page, farm.users["rosa"])
    page.goto("/counter/here/")
    page.get_by_role("button", name="Open this counter").click()
    page.get_by_role("link", name="change storeman").click()
    axe(page)
    page.get_by_role("link", name="pia").click()
    expect(page.get_by_label("PIN", exact=True)).to_be_focused()
    axe(page)
    page.keyboard.type("815063")
    page.keyboard.press("Enter")
    page.wait_for_url("**/counter/")
    expect(page.locator(".cover-who")).to_contain_text("pia")
    for path in ("/me/", "/me/pin/", "/me/password/"):
        page.goto(path)
        axe(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"], path
    sign_in(page, farm.users["frank"])
    page.goto("/users/")
    axe(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    page.get_by_role("button", name="pia: shut out").click()
    page.get_by_role("dialog").get_by_role("button", name="Shut out").click()
    page.get_by_text("pia is signed out and cannot sign in any more.").wait_for()


def test_a_supervisor_signs_in_on_the_phone(farm: Farm, open_page: Any, axe: Any) -> None:
    page = open_page(viewport=PHONE)
    page.goto(f"/sign-in/?next=/orchard/enrol/{code_of(farm)}")
    page.get_by_label("Username").fill("sam")
    page.get_by_label("Password").fill(PASSWORD)
    page.keyboard.press("Enter")
    page.get_by_label("What is this phone called?").fill("Sam's phone")
    page.keyboard.press("Enter")
    page.wait_for_url("**/orchard/")
    page.goto("/sign-in/?next=/orchard/")
    page.context.clear_cookies(name="sessionid")
    page.reload()
    axe(page)
    page.get_by_label("Username").first.fill("sam")
    page.get_by_label("PIN", exact=True).fill("307192")
    page.keyboard.press("Enter")
    page.wait_for_url(re.compile(r"//[^/]+/orchard/$"))
    assert farm.users["sam"].sign_ins.get(how="pin").device.name == "Sam's phone"


def test_the_manager_writes_down_somebody_new(farm: Farm, open_page: Any, sign_in: Any, axe: Any) -> None:
    page, phone = open_page(), open_page(viewport=PHONE)
    for each in (page, phone):
        sign_in(each, farm.users["frank"])
        for path in ("/users/", "/users/new/", f"/users/{farm.users['rosa'].pk}/"):
            each.goto(path)
            axe(each)
            width = each.evaluate("document.documentElement.clientWidth")
            assert each.evaluate("document.documentElement.scrollWidth") <= width, path
    page.goto("/users/new/")
    page.get_by_label("Username").fill("zola")
    page.get_by_label("storeman").check()
    page.keyboard.press("Enter")
    password = page.locator(".starting").inner_text()
    axe(page)
    new = open_page(viewport=PHONE)
    new.goto("/sign-in/?next=/counter/")
    new.get_by_label("Username").fill("zola")
    new.get_by_label("Password").fill(password)
    new.keyboard.press("Enter")
    new.wait_for_url("**/me/password/")
    axe(new)
    new.get_by_label("Old password").fill(password)
    new.get_by_label("New password", exact=True).fill("a ladder has two feet")
    new.get_by_label("New password confirmation").fill("a ladder has two feet")
    new.keyboard.press("Enter")
    new.get_by_text("Your password is changed.").wait_for()
    page.goto(f"/users/{farm.users['rosa'].pk}/")
    page.get_by_role("button", name="Make a starting password").click()
    page.get_by_role("dialog").get_by_role("button", name="Make a starting password").click()
    expect(page.locator(".starting")).not_to_have_text(password)
