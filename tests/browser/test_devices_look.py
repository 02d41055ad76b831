"""The phones' pages on a phone and on the office's screen; the code on the screen, read as a camera reads it."""

from datetime import timedelta
from io import BytesIO

import pytest
import zxingcpp
from django.utils import timezone
from PIL import Image
from playwright.sync_api import expect

from crews.models import Device, Enrolment
from tests.cast import Farm, found_farm
from tests.phones import code_of, enrolled

PHONE, SCREEN = {"width": 390, "height": 844}, {"width": 1280, "height": 800}


@pytest.fixture
def farm(transactional_db) -> Farm:
    return found_farm()


def some_phones(farm: Farm) -> Device:
    """One that sent all, one that was not heard of for two days, one revoked; the second is returned."""
    phones = [
        enrolled(farm, name) for name in ("Sam's phone", "The spare with the cracked glass", "Number 3")
    ]
    Device.objects.filter(pk=phones[0].pk).update(unsent=0)
    silent = {"unsent": 12, "last_contact": timezone.now() - timedelta(days=2)}
    Device.objects.filter(pk=phones[1].pk).update(**silent)
    Device.objects.filter(pk=phones[2].pk).update(revoked_at=timezone.now())
    return phones[1]


@pytest.mark.parametrize("size", [PHONE, SCREEN], ids=["phone", "screen"])
def test_every_page_can_be_used_by_everybody(farm: Farm, open_page, sign_in, axe, size):
    page = open_page(viewport=size)
    sign_in(page, farm.users["rosa"])
    page.goto("/devices/")
    axe(page)
    phone = some_phones(farm)
    code_of(farm)
    made = Enrolment.objects.latest("pk")
    paths = [
        "/devices/",
        f"/devices/{phone.pk}/",
        f"/devices/code/{made.pk}/",
        "/orchard/enrol/",
        f"/orchard/enrol/{made.code}",
    ]
    for path in paths:
        page.goto(path)
        axe(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= size["width"], path


def test_what_cannot_be_enrolled_can_be_read_too(farm: Farm, open_page, sign_in, axe, expect_problem):
    expect_problem("status of 404")
    page = open_page(viewport=PHONE)
    sign_in(page, farm.users["sam"])
    page.goto("/orchard/enrol/ABCDEFGH")
    axe(page)


def test_from_the_office_to_the_phone(farm: Farm, open_page, sign_in):
    """The code is read off the screen by another program, opened on the phone, and used up."""
    office, phone = open_page(viewport=SCREEN), open_page(viewport=PHONE)
    sign_in(office, farm.users["rosa"])
    office.goto("/devices/")
    office.get_by_role("button", name="Make a code").press("Enter")
    office.get_by_role("heading", name="Enrol a phone").wait_for()
    shot = Image.open(BytesIO(office.screenshot()))
    (symbol,) = zxingcpp.read_barcodes(shot)
    assert symbol.text.endswith(f"/orchard/enrol/{Enrolment.objects.get().code}")
    sign_in(phone, farm.users["sam"])
    phone.goto(symbol.text)
    button = phone.get_by_role("button", name="Enrol this phone")
    box = button.bounding_box()
    assert box and box["height"] >= 64
    phone.get_by_label("What is this phone called?").fill("Sam's phone")
    button.click()
    phone.wait_for_url("**/orchard/")
    office.reload()
    expect(office.get_by_text("Sam's phone is a phone of Store A now.")).to_be_visible()


def test_a_phone_is_revoked_by_keyboard_after_a_question(farm: Farm, page, sign_in, axe):
    phone = enrolled(farm)
    sign_in(page, farm.users["olga"])
    page.goto(f"/devices/{phone.pk}/")
    page.get_by_role("button", name="Revoke this phone").press("Enter")
    page.get_by_text("Revoke Sam's phone?").wait_for()
    axe(page)
    page.keyboard.press("Escape")
    phone.refresh_from_db()
    assert phone.revoked_at is None
    page.get_by_role("button", name="Revoke this phone").press("Enter")
    page.get_by_role("button", name="Revoke", exact=True).press("Enter")
    page.get_by_text("Sam's phone is revoked.").wait_for()
    phone.refresh_from_db()
    assert phone.revoked_at is not None
