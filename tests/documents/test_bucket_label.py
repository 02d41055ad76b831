"""The label of a bath says what it is, until when, and every caution; a scanner reads which bath it is."""

from dataclasses import replace
from datetime import datetime

import pytest

from equipment import catalogue
from equipment.documents.bucket_label import BucketLabel, bucket_label
from tests.documents.reading import reader, scanned, sizes, words

FARM = "Rooikrans Estate"
BATH = "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"
WHOLE = catalogue.load()
AGENTS = {agent.code: agent for agent in WHOLE.agent}
RECIPES = [recipe for recipe in WHOLE.recipe if recipe.method == "sterilise"]
LABEL = BucketLabel(
    bath=BATH,
    recipe="Clippers, every day: bleach 0.5 %",
    strength="5,000 ppm (0.5 %)",
    litres=20.0,
    mixed_at=datetime(2026, 6, 1, 15, 30),
    good_until=datetime(2026, 6, 1, 17, 30),
    by="Rosa Jacobs",
    lot="B-2231",
    contact_seconds=600,
    capacity=200,
    cautions=AGENTS["bleach"].cautions,
)


def test_it_says_what_until_when_and_by_whom() -> None:
    pdf = bucket_label(LABEL, FARM)
    (page,) = words(pdf)
    for text in (
        "Not water",
        LABEL.recipe,
        LABEL.strength,
        "Monday 1 June 15:30",
        "Monday 1 June 17:30",
        "10 minutes",
        "Rosa Jacobs",
        "B-2231",
        "20 L, for 200 pieces",
    ):
        assert text in page
    assert reader(pdf).metadata.title == "Dip bath" and sizes(pdf) == {(210, 148.5)}


@pytest.mark.parametrize(
    ("base", "held"),
    [
        ("", BATH),
        ("https://shed.rooikrans.example:8000/", f"https://shed.rooikrans.example:8000/wash/baths/{BATH}/"),
    ],
)
def test_a_scanner_reads_which_bath_it_is(base: str, held: str) -> None:
    assert scanned(bucket_label(LABEL, FARM, base)) == {held: 1}


@pytest.mark.parametrize("recipe", RECIPES, ids=lambda recipe: recipe.code)
def test_every_caution_and_step_of_every_recipe_stands_on_it_whole(recipe) -> None:  # type: ignore[no-untyped-def]
    cautions = (*AGENTS[recipe.agent].cautions, *recipe.cautions)
    label = replace(LABEL, recipe=recipe.name, cautions=cautions, steps=(*recipe.before, *recipe.after))
    (page,) = words(bucket_label(label, FARM))
    for sentence in (*cautions, *recipe.before, *recipe.after):
        assert sentence in page
    assert "…" not in page


def test_what_nobody_wrote_down_is_said() -> None:
    (page,) = words(bucket_label(replace(LABEL, lot="", good_until=None), FARM))
    assert "not written down" in page and "until it is spent" in page
