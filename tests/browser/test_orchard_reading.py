"""A scanner, typing and the camera: three ways in, one function out, and the check character catches slips."""

from collections.abc import Callable

import pytest
from playwright.sync_api import expect

from tests.cast import Farm
from tests.orchard import Gear, Orchard

pytestmark = pytest.mark.django_db(transaction=True)


def slipped(tag: str) -> str:
    """One digit typed wrong."""
    return tag[:-2] + str((int(tag[-2]) + 1) % 10) + tag[-1]


def test_typed_without_a_camera(gear: Gear, orchard: Orchard) -> None:
    orchard.open()
    orchard.page.get_by_role("button", name="Scan").click()
    panel = orchard.page.locator(".scan-panel")
    expect(panel).to_contain_text("Type the code")
    orchard.page.get_by_label("Type the code on the label").fill(gear.bag.lower())
    panel.get_by_role("button", name="Read").click()
    expect(panel).to_be_hidden()
    orchard.shows(gear.bag, "In the crew's box")


def test_a_slip_is_caught(gear: Gear, orchard: Orchard) -> None:
    orchard.open()
    orchard.scan(slipped(gear.bag))
    orchard.says("no", "a slip in it")
    expect(orchard.screen).to_have_attribute("data-screen", "crew")


def test_a_label_with_an_address_and_a_card(farm: Farm, gear: Gear, orchard: Orchard) -> None:
    orchard.open()
    orchard.scan(f"https://shed.example/t/{gear.bag}")
    orchard.shows(gear.bag)
    orchard.scan(farm.badges["ben"])
    orchard.shows("Number 2")
    orchard.scan("PK99991")
    orchard.says("no")


def test_a_camera_that_is_refused_is_said_and_the_page_works_on(gear: Gear, orchard: Orchard) -> None:
    """The test's browser grants no camera."""
    orchard.open()
    orchard.page.get_by_role("button", name="Scan").click()
    expect(orchard.page.locator('[data-slot="camera-say"]')).to_contain_text("camera")
    expect(orchard.page.locator('[data-slot="camera-say"]')).to_contain_text("Type the code")
    orchard.scan(gear.ana["clippers"])
    orchard.shows(gear.ana["clippers"], "Number 1 has it")


def test_what_is_not_on_the_sheet_can_be_handed_over(
    farm: Farm, gear: Gear, orchard: Orchard, post: Callable[..., object]
) -> None:
    (other,) = farm.gear("bag")
    orchard.open()
    orchard.scan(other)
    orchard.shows("Not on this crew's sheet")
    orchard.press("Somebody else has it now")
    orchard.press("1", exact=True)
    orchard.says("yes", other)
