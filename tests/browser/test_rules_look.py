"""The rules on a phone and on the store's screen, and a change made without a mouse."""

from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from equipment.actions.set_rule import set_rule
from equipment.models import Rule
from tests.cast import Farm, found_farm

PHONE, SCREEN = {"width": 390, "height": 844}, {"width": 1280, "height": 800}
CLIPPERS, PATH = "cleaning clippers sterilise", "/rules/cleaning-clippers-sterilise/"


@pytest.fixture
def farm(transactional_db):
    return found_farm(rules=True)


@pytest.mark.parametrize("size", [PHONE, SCREEN], ids=["phone", "screen"])
def test_every_page_can_be_used_by_everybody(farm: Farm, open_page, sign_in, axe, size):
    at = timezone.now()
    set_rule(farm.users["olga"], CLIPPERS, {"hours_in_use": 3}, "warm days", at)
    set_rule(farm.users["olga"], CLIPPERS, {"hours_in_use": 2}, "hot days", at, at + timedelta(days=3))
    page = open_page(viewport=size)
    sign_in(page, farm.users["olga"])
    others = ("fault-ladder_wobble", "fault-hurt_someone", "recipe-canker_chlorine", "disease-exocortis")
    for path in ("/rules/", "/rules/?q=zeppelin", PATH, *(f"/rules/{slug}/" for slug in others)):
        page.goto(path)
        axe(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= size["width"], path


def test_a_rule_is_found_and_set_by_keyboard(farm: Farm, page, sign_in, axe):
    sign_in(page, farm.users["olga"])
    page.goto("/rules/")
    page.get_by_label("Find").focus()
    page.keyboard.type("clippers sterilise")
    page.keyboard.press("Enter")
    page.get_by_role("link", name="Clippers: sterilise").focus()
    page.keyboard.press("Enter")
    page.get_by_label("Hours in use").focus()
    page.keyboard.press("Control+a")
    page.keyboard.type("0")
    page.get_by_label("Why").focus()
    page.keyboard.type("warm days")
    page.get_by_role("button", name="Look at the change").focus()
    page.keyboard.press("Enter")
    page.get_by_text("give a number above zero").wait_for()
    axe(page)
    page.get_by_label("Hours in use").fill("3")
    page.get_by_label("Hours in use").press("Enter")
    page.get_by_text("Is this what you want?").wait_for()
    axe(page)
    page.get_by_role("button", name="Yes, write it down").focus()
    page.keyboard.press("Enter")
    page.get_by_text("holds as it stands below").wait_for()
    axe(page)
    assert Rule.objects.of(CLIPPERS)[0].values["hours_in_use"] == 3


def test_a_group_is_one_jump_away(farm: Farm, page, sign_in):
    sign_in(page, farm.users["mo"])
    page.goto("/rules/")
    page.get_by_role("navigation", name="Groups of rules").get_by_role("link", name="Diseases").press("Enter")
    expect(page.get_by_role("heading", name="Diseases")).to_be_in_viewport()
