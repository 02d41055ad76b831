"""What a supervisor writes down beside swaps: each screen's act arrives in the book as it was meant."""

import re
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from equipment.models import Entry, ItemState
from equipment.models.kits import plans_by_crew
from equipment.models.projections import folded_item
from tests.cast import Farm
from tests.orchard import Gear, Orchard, verbs, where

pytestmark = pytest.mark.django_db(transaction=True)


def told(*names: str) -> list[tuple[str, str | None]]:
    return [(entry.verb, entry.block_id or entry.detail.get("cause")) for entry in verbs(*names)]


def test_the_crew_comes_stops_goes_on_and_leaves(farm: Farm, orchard: Orchard) -> None:
    orchard.open()
    orchard.shows("In no block yet")
    orchard.press("Came into a block")
    orchard.press("N4")
    orchard.says("yes", "In N4")
    orchard.go("crew")
    orchard.shows("In N4")
    orchard.press("Tea, a break")
    orchard.says("yes", "Stopped")
    orchard.press("Picking again in N4")
    orchard.press("Rain")
    orchard.press("Picking again in N4")
    orchard.go("block")
    orchard.press("Left the block")
    orchard.says("yes", "Left N4")
    orchard.sent()
    assert told("arrived", "left", "stopped") == [
        ("arrived", "N4"),
        ("stopped", "break"),
        ("arrived", "N4"),
        ("stopped", "rain"),
        ("arrived", "N4"),
        ("left", None),
    ]


def test_when_it_happened_earlier(farm: Farm, orchard: Orchard) -> None:
    orchard.open("#/block")
    earlier = timezone.localtime(timezone.now() - timedelta(minutes=50))
    orchard.page.get_by_label("When, if not now").fill(f"{earlier:%H:%M}")
    orchard.press("N4")
    orchard.says("yes", "In N4")
    orchard.sent()
    (arrived,) = verbs("arrived")
    assert timezone.localtime(arrived.happened_at).strftime("%H:%M") == f"{earlier:%H:%M}"


def test_the_plan_changes_and_the_kit_with_it(farm: Farm, orchard: Orchard) -> None:
    orchard.open("#/plan")
    orchard.shows("N4, all day: clipped", "Clippers")
    orchard.screen.get_by_text("packhouse asks").click()
    orchard.press("Now snapped")
    orchard.says("yes", "snapped now")
    expect(orchard.screen.locator("ul").first).not_to_contain_text("Clippers")
    orchard.sent()
    (change,) = verbs("replanned")
    assert change.detail["clipped"] is False
    (plan,) = plans_by_crew(timezone.localdate(), [farm.crews["red"].pk])[farm.crews["red"].pk]
    assert (plan.block_id, plan.clipped) == ("N4", False)
    orchard.press("Now clipped")
    orchard.says("yes", "clipped now")
    orchard.press("Another block")
    orchard.press("S2")
    orchard.says("yes", "S2 is clipped now")
    orchard.sent()
    assert verbs("replanned")[-1].detail["block"] == "S2"


def test_the_morning_check_counts_who_is_here(farm: Farm, orchard: Orchard) -> None:
    orchard.open("#/morning")
    orchard.press("2 here")
    expect(orchard.screen.get_by_role("button", name="2 absent")).to_be_visible()
    expect(orchard.page.get_by_label("How many are here?")).to_have_value("1")
    orchard.press("Write the check down")
    orchard.says("no", "Not answered yet")
    for group in orchard.screen.locator("fieldset").all():
        group.get_by_text("yes", exact=True).click()
    for box in orchard.screen.locator("input[inputmode]").all():
        if not box.input_value():
            box.fill("20")
    orchard.press("Write the check down")
    orchard.says("yes", "morning check is written down")
    orchard.sent()
    (check,) = verbs("morning_checked")
    assert check.detail["answers"]["present"] == 1
    assert check.detail["answers"]["kits"] == "yes"
    expect(orchard.screen.locator(".person-absent")).to_have_count(1)
    orchard.page.reload()
    orchard.ready()
    expect(orchard.screen.locator(".person-absent")).to_have_count(1)


def test_a_picker_is_lent_to_us_and_leaves_again(farm: Farm, orchard: Orchard) -> None:
    farm.crews["blue"].store = farm.stores["A"]
    farm.crews["blue"].save()
    orchard.open("#/morning")
    orchard.scan(farm.badges["cy"])
    orchard.says("yes", "Number 3 is lent to this crew")
    orchard.go("picker", farm.pickers["cy"].pk)
    orchard.press("Lent to another crew")
    orchard.says("yes", "Number 3 has left")
    orchard.sent()
    assert [(entry.verb, entry.picker_id) for entry in verbs("joined", "parted")] == [
        ("joined", farm.pickers["cy"].pk),
        ("parted", farm.pickers["cy"].pk),
    ]


def test_lost_and_found(farm: Farm, gear: Gear, orchard: Orchard) -> None:
    orchard.open()
    orchard.press(gear.ana["bag"])
    orchard.press("Lost")
    orchard.says("yes", "marked lost")
    orchard.sent()
    assert where(gear.ana["bag"])[0] == "missing"
    orchard.go("lost")
    orchard.press(f"Found: {gear.ana['bag']}")
    orchard.says("yes", "is found")
    orchard.sent()
    assert where(gear.ana["bag"]) == ("crew", None)


def test_change_of_hands_by_press_and_by_scan(farm: Farm, gear: Gear, orchard: Orchard) -> None:
    orchard.open()
    orchard.press(gear.ana["bag"])
    orchard.press("Somebody else has it now")
    orchard.press("2", exact=True)
    orchard.says("yes", "Number 2 has")
    orchard.scan(gear.ana["clippers"])
    orchard.press("Somebody else has it now")
    orchard.scan(farm.badges["ben"])
    orchard.says("yes", gear.ana["clippers"])
    orchard.sent()
    assert where(gear.ana["bag"]) == where(gear.ana["clippers"]) == ("picker", "Ben")
    assert {entry.detail["from"] for entry in verbs("handed_out")} == {f"picker:{farm.pickers['ana'].pk}"}


def test_a_scan_on_a_pickers_screen_hands_over(farm: Farm, gear: Gear, orchard: Orchard) -> None:
    orchard.open()
    orchard.scan(farm.badges["ana"])
    orchard.shows("Number 1")
    orchard.scan(gear.bag)
    orchard.says("yes", "Number 1 has", gear.bag)
    orchard.sent()
    assert where(gear.bag) == ("picker", "Ana")


def test_knock_off_and_what_stays(farm: Farm, gear: Gear, orchard: Orchard) -> None:
    orchard.open("#/knockoff")
    orchard.shows("Must come back: 7")
    orchard.scan(gear.ladder)
    orchard.page.get_by_label("Who locked it away").fill("the cage")
    orchard.press("They stay here: 1")
    orchard.says("yes", "They stay in")
    orchard.shows("Must come back: 6", "Left already", gear.ladder)
    orchard.sent()
    (stowed,) = verbs("stowed")
    assert (stowed.block_id, stowed.detail["counted"], stowed.detail["locked_by"]) == ("N4", 1, "the cage")
    assert stowed.by == farm.users["sam"]
    assert where(gear.ladder) == ("orchard", None)


def test_the_last_thing_is_taken_back(farm: Farm, gear: Gear, orchard: Orchard) -> None:
    orchard.open()
    orchard.press(gear.ana["clippers"])
    orchard.press("Blunt")
    orchard.press(gear.clippers)
    orchard.sent()
    orchard.told.get_by_role("button", name="Take back").click()
    orchard.says("yes", "Taken back")
    expect(orchard.screen.get_by_role("link", name=re.compile(gear.ana["clippers"]))).to_be_visible()
    orchard.sent()
    gone = {str(entry.pk) for entry in verbs("fault_found", "handed_out")}
    assert {entry.detail["entry"] for entry in verbs("reversed")} == gone
    assert where(gear.ana["clippers"]) == ("picker", "Ana")
    assert where(gear.clippers) == ("crew", None)
    orchard.go("last")
    orchard.shows("taken back")


def test_what_the_sheet_holds_already_is_taken_back(farm: Farm, gear: Gear, orchard: Orchard) -> None:
    bag = gear.ana["bag"]
    before = folded_item(ItemState.objects.get(tag=bag)).state

    def fetch() -> None:
        orchard.go("phone")
        orchard.press("Fetch the sheets again")
        orchard.says("note", "fresh")

    orchard.open()
    orchard.go("piece", bag)
    orchard.press("Lost")
    orchard.says("yes", "marked lost")
    orchard.sent()
    assert where(bag)[0] == "missing"
    fetch()
    orchard.page.reload()
    orchard.ready()
    orchard.go("last")
    orchard.shows(f"lost: {bag}", "in the book")
    orchard.press("Take back")
    orchard.says("note", "Taken back")
    orchard.sent()
    fetch()
    orchard.go("piece", bag)
    orchard.shows("Number 1 has it")
    orchard.go("last")
    orchard.shows("taken back")
    (missed,), (gone,) = verbs("missed"), verbs("reversed")
    assert gone.detail["entry"] == str(missed.pk)
    assert where(bag) == ("picker", "Ana")
    assert folded_item(ItemState.objects.get(tag=bag)).state == before


def test_another_crew_is_taken_over(farm: Farm, orchard: Orchard) -> None:
    blue = farm.crews["blue"]
    blue.store = farm.stores["A"]
    blue.save()
    orchard.open("#/crews")
    orchard.press("Blue crew")
    orchard.press("Take Blue crew over")
    orchard.says("yes", "Blue crew is yours")
    orchard.shows("Blue crew", "3")
    orchard.go("block")
    orchard.press("S2")
    orchard.says("yes", "In S2")
    orchard.sent()
    assert [(entry.verb, entry.crew_id) for entry in verbs("taken_over", "arrived")] == [
        ("taken_over", blue.pk),
        ("arrived", blue.pk),
    ]
    assert Entry.objects.filter(verb="arrived", by=farm.users["sam"]).count() == 1
