"""Sterilising from the phone: the bath worked out and mixed, the crew in it, the time, out; tested and emptied."""

import re
from typing import Any

import pytest
from playwright.sync_api import expect

from equipment.domain.mixing import mixture
from equipment.domain.values import ItemState as State
from equipment.models import ItemState
from equipment.models.projections import folded_item
from tests.cast import Farm
from tests.counter import HEAR
from tests.orchard import Gear, Orchard, tag_of, verbs

pytestmark = pytest.mark.django_db(transaction=True)

STRIKES = 523  # Hz: the bell of sounds.js
CONTACT = 600


def mix(orchard: Orchard) -> str:
    """A bath of ten litres, from the screen; its number."""
    orchard.go("mix")
    orchard.press("Clippers, every day")
    orchard.page.get_by_label("How many litres of bath?").fill("10")
    orchard.press("Work it out")
    orchard.shows("1000 mL of product, made up to 10 L", "never water into", "Never with acid")
    orchard.press("It is mixed")
    orchard.says("yes", "bath is written down")
    orchard.sent()
    (mixed,) = verbs("mixed")
    return str(mixed.bath)


def folded(tag: str) -> State:
    return folded_item(ItemState.objects.get(tag=tag)).state


def test_a_bath_is_mixed_as_the_phone_works_it_out(farm: Farm, orchard: Orchard) -> None:
    orchard.open()
    mix(orchard)
    (mixed,) = verbs("mixed")
    assert (mixed.detail["litres"], mixed.detail["product_ml"], mixed.detail["strength_pct"]) == (
        "10.0",
        "1000.0",
        "5.0",
    )
    assert mixed.detail["recipe"] == "clippers_daily_bleach"


def test_the_whole_crew_with_the_timer(farm: Farm, gear: Gear, orchard: Orchard) -> None:
    page = orchard.page
    page.add_init_script(HEAR)
    page.clock.install()
    orchard.open()
    bath = mix(orchard)
    orchard.shows("Whole crew", "Pieces: 2", "Good until")
    orchard.press("They are in: 2")
    expect(orchard.screen.locator(".timer-left")).to_have_text(re.compile(r"^(10:00|9:5\d)$"))
    orchard.press("Out")
    orchard.says("no", "Too early")
    page.clock.run_for(4 * 60_000)
    page.reload()
    orchard.ready()
    orchard.go("dip")
    expect(orchard.screen.locator(".timer-left")).to_have_text(re.compile(r"^[56]:"))
    page.keyboard.press("Shift")
    page.clock.run_for(CONTACT * 1000)
    orchard.says("time", "Time is up")
    assert page.evaluate("pitches").count(STRIKES) >= 1
    orchard.press("Out")
    orchard.says("yes", "Sterilised: 2")
    orchard.sent()
    dips = verbs("cleaned")
    assert {tag_of(dip) for dip in dips} == {gear.ana["clippers"], gear.ben["clippers"]}
    assert {str(dip.bath) for dip in dips} == {bath}
    assert {(dip.detail["each_scanned"], dip.detail["method"]) for dip in dips} == {(False, "sterilise")}
    assert all(dip.detail["seconds"] >= CONTACT for dip in dips)
    assert all(len(folded(tag).cleanings) == 1 for tag in (gear.ana["clippers"], gear.ben["clippers"]))
    expect(orchard.screen.locator(".timer")).to_have_count(0)


def test_half_a_crew_done_without_the_timer(gear: Gear, orchard: Orchard) -> None:
    orchard.open()
    mix(orchard)
    orchard.press("First half")
    orchard.press("Done already")
    orchard.press("Write it down: 1")
    orchard.says("yes", "Sterilised: 1, 10 min")
    orchard.sent()
    (dip,) = verbs("cleaned")
    assert (tag_of(dip), dip.detail["seconds"]) == (gear.ana["clippers"], CONTACT)


def test_each_piece_by_its_scan(gear: Gear, orchard: Orchard) -> None:
    orchard.open()
    mix(orchard)
    orchard.scan(gear.ben["clippers"])
    orchard.press("Done already")
    orchard.press("Write it down: 1")
    orchard.says("yes", "Sterilised: 1")
    orchard.sent()
    (dip,) = verbs("cleaned")
    assert (tag_of(dip), dip.detail["each_scanned"]) == (gear.ben["clippers"], True)


def test_tested_and_emptied(orchard: Orchard) -> None:
    orchard.open()
    mix(orchard)
    orchard.go("baths")
    orchard.press("Test its strength")
    orchard.page.get_by_label("The strip reads").fill("500")
    orchard.page.get_by_label("So many times weaker").fill("2")
    orchard.press("Write the test down")
    orchard.says("yes", "test is written down")
    orchard.shows("failed its strength test")
    orchard.press("Empty it")
    orchard.press("septic tank")
    orchard.says("yes", "emptied")
    orchard.sent()
    (tested,), (emptied,) = verbs("tested"), verbs("emptied")
    assert (tested.detail["ppm"], tested.detail["diluted"]) == ("500.0", "2.0")
    assert emptied.detail["where"] == "sewer"
    orchard.go("dip")
    orchard.shows("No bath stands")


def test_a_buckets_label_chooses_it_and_a_bad_bath_says_so(gear: Gear, orchard: Orchard) -> None:
    orchard.page.clock.install()
    orchard.open()
    bath = mix(orchard)
    orchard.page.clock.fast_forward("02:30:00")
    orchard.go("crew")
    orchard.scan(f"https://shed.example/wash/bath/{bath}/")
    expect(orchard.screen).to_have_attribute("data-screen", "dip")
    orchard.shows("A dip in it is written down and does not count", "too old")
    orchard.press("Done already")
    orchard.press("Write it down: 2")
    orchard.says("yes", "Sterilised: 2")
    expect(orchard.screen.locator(".now-dip")).to_contain_text("Dip now")


MIXED = """async (asked) => {
  const { mixture } = await import('/static/equipment/js/domain/mixing.js');
  return asked.map(([ppm, litres, strength, options]) => mixture(ppm, litres, strength, options));
}"""


def test_the_sums_are_those_of_the_server(orchard: Orchard) -> None:
    """Against equipment/domain/mixing.py, which is held to the tables of CDC's Appendix E."""
    asked: list[tuple[float, float, float, dict[str, bool]]] = [
        (ppm, litres, strength, {"powder": powder, "ready": ready})
        for ppm in (200, 2000, 5000, 10500, 50_000, 700_000)
        for litres in (0.5, 1, 7.3, 10, 25, 200)
        for strength in (0.5, 1, 3.5, 5, 5.25, 10, 35, 70, 100)
        for powder, ready in ((False, False), (True, False), (False, True))
    ]
    orchard.open()
    answers: list[dict[str, Any]] = orchard.page.evaluate(MIXED, asked)
    for (ppm, litres, strength, options), answer in zip(asked, answers, strict=True):
        try:
            made = mixture(ppm, litres, strength, **options)
        except ValueError:
            assert answer["why"] in ("too_weak", "other_product"), (ppm, litres, strength, options)
            continue
        wanted = (made.product, list(made.parts) if made.parts else None, made.powder)
        assert (answer["product"], answer["parts"], answer["powder"]) == wanted, (ppm, litres, strength)
        assert answer["water"] == pytest.approx(made.water)
