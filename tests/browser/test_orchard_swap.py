"""Broken, and a spare handed over: three touches or two scans, one act in the book, with a line or without."""

import re
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import expect

from equipment.domain import codes
from equipment.domain.fault_tags import FAULT_TAGS
from equipment.models import ItemState
from equipment.models.projections import folded_item
from tests.cast import Farm
from tests.orchard import Gear, Orchard, verbs, where

pytestmark = pytest.mark.django_db(transaction=True)


def is_swapped(farm: Farm, gear: Gear) -> None:
    broken, spare = gear.ana["clippers"], gear.clippers
    found, away, given = verbs("fault_found", "handed_out")
    assert (found.verb, found.detail["fault"]) == ("fault_found", "clippers_blunt")
    assert (away.crew_id, away.picker_id) == (farm.crews["red"].pk, None)
    assert away.detail["from"] == f"picker:{farm.pickers['ana'].pk}"
    assert given.picker_id == farm.pickers["ana"].pk
    assert given.detail["from"] == f"crew:{farm.crews['red'].pk}"
    assert len({found.act, away.act, given.act} - {None}) == 1
    assert where(broken) == ("crew", None)
    assert where(spare) == ("picker", "Ana")


def test_three_touches(farm: Farm, gear: Gear, orchard: Orchard) -> None:
    orchard.open()
    orchard.press(gear.ana["clippers"])
    orchard.press("Blunt")
    orchard.press(gear.clippers)
    assert orchard.touches == 3
    orchard.says("yes", gear.ana["clippers"], "Number 1 has", gear.clippers)
    orchard.sent()
    is_swapped(farm, gear)
    expect(orchard.screen).to_have_attribute("data-screen", "crew")


@pytest.mark.parametrize("order", ["fault first", "spare first", "fault by its tag"])
def test_two_scans(order: str, farm: Farm, gear: Gear, orchard: Orchard) -> None:
    orchard.open()
    orchard.scan(gear.ana["clippers"])
    orchard.shows("What is wrong")
    if order == "spare first":
        orchard.scan(gear.clippers)
        orchard.shows(f"{gear.clippers} is the spare")
        orchard.press("Blunt")
    else:
        if order == "fault first":
            orchard.press("Blunt")
        else:
            orchard.scan(codes.make(codes.COUNTER, FAULT_TAGS["clippers_blunt"]))
        orchard.shows("A spare for number 1")
        orchard.scan(gear.clippers)
    orchard.says("yes", "Number 1 has", gear.clippers)
    orchard.sent()
    is_swapped(farm, gear)


def test_without_a_line_it_shows_at_once_and_goes_later(farm: Farm, gear: Gear, orchard: Orchard) -> None:
    orchard.open()
    orchard.page.context.set_offline(True)
    orchard.press(gear.ana["clippers"])
    orchard.press("Blunt")
    orchard.press(gear.clippers)
    orchard.unsent(3)
    box = orchard.screen.locator(".person-gear").last
    expect(box).to_contain_text("Blunt")
    expect(orchard.screen.get_by_role("link", name=re.compile(gear.clippers))).to_be_visible()
    assert verbs("fault_found") == []
    orchard.page.context.set_offline(False)
    orchard.sent()
    is_swapped(farm, gear)


def test_no_spare_and_what_may_go_on(farm: Farm, gear: Gear, orchard: Orchard) -> None:
    orchard.open()
    orchard.press(gear.ana["clippers"])
    orchard.press("Blunt")
    orchard.press("No spare for now")
    orchard.says("yes", "Number 1 has none now")
    orchard.press(gear.ben["clippers"])
    orchard.press("Dirty")
    orchard.says("yes", gear.ben["clippers"], "Dirty")
    orchard.sent()
    assert where(gear.ana["clippers"]) == ("crew", None)
    assert where(gear.ben["clippers"]) == ("picker", "Ben")
    assert [entry.detail["fault"] for entry in verbs("fault_found")] == ["clippers_blunt", "dirty"]


def test_another_kind_is_no_spare(gear: Gear, orchard: Orchard) -> None:
    orchard.open()
    orchard.go("spare", gear.ana["clippers"], "clippers_blunt")
    orchard.scan(gear.bag)
    orchard.says("no", gear.bag, "something else")
    assert verbs("handed_out") == []


def test_with_a_photo(gear: Gear, orchard: Orchard, tmp_path: Path) -> None:
    picture = tmp_path / "broken.jpg"
    Image.new("RGB", (320, 200), "#863106").save(picture)
    orchard.open()
    orchard.press(gear.ana["bag"])
    orchard.page.locator("#photo").set_input_files(picture)
    orchard.shows("Photo taken")
    orchard.press("Hole")
    orchard.press(gear.bag)
    orchard.says("yes", "Number 1 has", gear.bag)
    orchard.sent()
    (found,) = verbs("fault_found")
    assert re.fullmatch("[0-9a-f]{64}", found.detail["photo"])


def test_mended_here(gear: Gear, orchard: Orchard) -> None:
    orchard.open()
    orchard.press(gear.ana["clippers"])
    orchard.press("Blunt")
    orchard.press(gear.clippers)
    orchard.go("piece", gear.ana["clippers"])
    orchard.press("Mended here")
    orchard.screen.get_by_text("15", exact=True).click()
    orchard.press("It is mended")
    orchard.says("yes", gear.ana["clippers"], "mended")
    orchard.sent()
    (mended,) = verbs("mended")
    assert (mended.detail["fault"], mended.detail["minutes"], mended.detail["where"]) == (
        "clippers_blunt",
        15,
        "orchard",
    )
    assert mended.detail["method"]
    row = ItemState.objects.get(tag=gear.ana["clippers"])
    assert folded_item(row).state.faults == ()
