"""What the rules of the day put into an entry: what a dip kills, how long it must act, how strong a mixing is.

The published values are those of the sources named beside them; the rules are the ones that come with the program.
"""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from equipment.domain import bath, dilution
from equipment.domain.rules import NO_RULES
from equipment.domain.sealing import Facts, killed, mixing_ppm, sealed
from equipment.domain.values import BathState
from equipment.domain.verbs import VERBS
from tests.rulebook import CATALOGUE, RULES

CLIPPERS = Facts(RULES, kind="clippers")
RECIPES = RULES.recipes
LONG = 3600


def dip(recipe: str, seconds: int = LONG, kind: str = "clippers") -> dict[str, Any]:
    return sealed(
        "cleaned", {"method": "sterilise", "recipe": recipe, "seconds": seconds}, Facts(RULES, kind)
    )


# --- what a dip kills


@pytest.mark.parametrize(
    ("recipe", "seconds", "clears"),
    [
        # Roistacher, Calavan & Blue 1969, Plant Disease Reporter 53(5):333-336: about 1 % sodium hypochlorite, a dip
        # of 1 second, stops exocortis.
        ("clippers_viroid_bleach", 10, True),
        ("clippers_viroid_bleach", 1, True),
        ("clippers_viroid_bleach", 0, False),
        # The same: 1 + 9 parts of household bleach (0.5 %) and 200 ppm are weaker than what was shown to work.
        ("clippers_daily_bleach", LONG, False),
        ("canker_chlorine", LONG, False),
        # The same: 95 % ethanol does not; and quaternary ammonium was not shown to.
        ("clippers_alcohol", LONG, False),
        ("canker_quat", LONG, False),
    ],
)
def test_what_clears_an_exocortis_flag(recipe: str, seconds: int, clears: bool) -> None:
    assert ("exocortis" in dip(recipe, seconds).get("kills", ())) is clears


def test_alcohol_never_clears_exocortis_however_strong_and_long() -> None:
    """Roistacher, Calavan & Blue 1969: 95 % ethanol. 1 % is 10 000 ppm: definition."""
    neat = replace(RECIPES["clippers_alcohol"], target_ppm=950_000)
    assert "exocortis" not in killed(neat, 86_400, RULES.clears)


@pytest.mark.parametrize(
    ("parts_of_bleach", "parts_water", "clears"),
    [(1, 4, True), (1, 9, False), (1, 250, False)],  # 20 % household bleach is 1 + 4
)
def test_household_bleach_by_its_parts(parts_of_bleach: int, parts_water: int, clears: bool) -> None:
    """By the strength that they give from a product of 5 %; the parts by CDC's formula, Appendix E: C/W - 1."""
    ppm = mixing_ppm(1000 * parts_of_bleach, parts_of_bleach + parts_water, 5.0)
    assert dilution.parts_of_water(5.0, ppm / 10_000) == pytest.approx(parts_water)
    as_mixed = replace(RECIPES["clippers_viroid_bleach"], target_ppm=round(ppm))
    assert ("exocortis" in killed(as_mixed, 10, RULES.clears)) is clears


@pytest.mark.parametrize(
    ("recipe", "seconds", "clears"),
    [
        # 200 ppm sodium hypochlorite at pH 6.0 to 7.5 or 0.2 % quaternary ammonium: US 7 CFR 301.75-11(d), 1989; 2
        # minutes: its rule for seed; 10 minutes for the other: common practice.
        ("canker_chlorine", 120, True),
        ("canker_chlorine", 119, False),
        ("canker_quat", 600, True),
        ("canker_quat", 599, False),
        ("clippers_alcohol", LONG, False),
    ],
)
def test_what_clears_a_canker_flag(recipe: str, seconds: int, clears: bool) -> None:
    assert ("citrus_canker" in dip(recipe, seconds).get("kills", ())) is clears


@pytest.mark.parametrize("recipe", [None, "wash_soap"])
def test_soil_washed_off_clears_brown_rot(recipe: str | None) -> None:
    """Any washing does: common practice."""
    washed = sealed("cleaned", {"method": "wash", "recipe": recipe}, Facts(RULES, "bag"))
    assert washed["kills"] == ["brown_rot"]


def test_nothing_on_gear_clears_what_gear_does_not_carry() -> None:
    assert RULES.clears["huanglongbing"] == ()
    for recipe in RECIPES.values():
        assert "huanglongbing" not in killed(recipe, LONG, RULES.clears)


def test_what_the_catalogue_says_in_vain_kills_nothing() -> None:
    """Every agent of a `does_not` row, by every recipe of it weaker than the row says."""
    tried = 0
    for disease in CATALOGUE.disease:
        for row in disease.does_not:
            for recipe in RECIPES.values():
                if recipe.agent == row.agent and (recipe.target_ppm or 0) < (row.below_ppm or 10**9):
                    assert disease.code not in killed(recipe, LONG, RULES.clears)
                    tried += 1
    assert tried >= 4


# --- the contact time, and the recipe that is none for it


def test_the_contact_time_and_the_strength_of_the_day_are_kept() -> None:
    """10 minutes in 1 + 9 parts: Iowa State University Extension."""
    assert dip("clippers_daily_bleach", 30) == {
        "recipe": "clippers_daily_bleach",
        "needs_seconds": 600,
        "ppm": 5000,
        "rules": 1,
    }


@pytest.mark.parametrize(
    ("detail", "kind", "wrong"),
    [
        ({"method": "sterilise"}, "clippers", "no_recipe"),
        ({"method": "sterilise", "recipe": "vinegar"}, "clippers", "no_recipe"),
        ({"method": "sterilise", "recipe": "wash_soap"}, "clippers", "wrong_recipe"),
        ({"method": "sterilise", "recipe": "clippers_daily_bleach"}, "ladder", "wrong_recipe"),
        ({"method": "wash", "recipe": "clippers_daily_bleach"}, "clippers", "wrong_recipe"),
        ({"method": "dry", "recipe": "wash_soap"}, "gloves", "wrong_recipe"),
        ({"method": "sterilise", "recipe": "clippers_daily_bleach"}, "clippers", None),
        ({"method": "wash", "recipe": "wash_soap"}, "ladder", None),
        ({"method": "wash"}, "ladder", None),
        ({"method": "dry"}, "gloves", None),
    ],
)
def test_a_recipe_that_is_none_for_it(detail: dict[str, Any], kind: str, wrong: str | None) -> None:
    found = sealed("cleaned", detail, Facts(RULES, kind))
    assert found.get("wrong") == wrong
    assert wrong is None or "kills" not in found


def test_the_recipe_is_that_of_the_bath_whatever_was_sent() -> None:
    mixed = BathState(recipe="clippers_daily_bleach")
    sent = {"method": "sterilise", "recipe": "clippers_viroid_bleach", "seconds": 600}
    found = sealed("cleaned", sent, replace(CLIPPERS, bath=mixed))
    assert (found["recipe"], "exocortis" in found.get("kills", ())) == ("clippers_daily_bleach", False)


# --- the bath as it was mixed


def mix(recipe: str, litres: float, product_ml: float, **said: Any) -> dict[str, Any]:
    facts = Facts(RULES, day=date(2026, 6, 1), strengths={"bleach": 5.0, "quat": 10.0, "alcohol": 70.0})
    return sealed("mixed", {"recipe": recipe, "litres": litres, "product_ml": product_ml, **said}, facts)


@pytest.mark.parametrize(
    ("product_ml", "litres", "strength_pct", "ppm"),
    [
        (
            400,
            20,
            5,
            1000,
        ),  # CDC, chlorine solution for non-healthcare settings, 9 February 2021: 0.1 % in 20 L
        (1000, 251, 5, 199.2),  # "1 part household bleach to 250 parts water", computed
        (1000, 251, 5.25, 209.2),
        (400, 1, 5, 20_000),  # made up to a litre, computed
    ],
)
def test_the_strength_of_a_mixing(product_ml: float, litres: float, strength_pct: float, ppm: float) -> None:
    assert mixing_ppm(product_ml, litres, strength_pct) == pytest.approx(ppm, abs=0.05)
    assert dilution.product_ml(ppm, litres, strength_pct) == pytest.approx(product_ml, rel=1e-3)


def test_a_bath_keeps_the_recipe_of_its_day() -> None:
    """Used within 2 hours: Iowa State University Extension."""
    assert mix("clippers_daily_bleach", 2.5, 250) == {
        "agent": "bleach",
        "ppm": 5000,
        "life_minutes": 120,
        "low_ppm": 4000,
        "high_ppm": 6500,
        "capacity": 25,
        "rules": 1,
    }


@pytest.mark.parametrize(
    ("mixed", "flaws"),
    [
        (mix("clippers_daily_bleach", 2, 200), []),
        (mix("clippers_daily_bleach", 2, 180), ["too_weak"]),
        (mix("clippers_daily_bleach", 2, 180, strength_pct=6.0), []),  # the label of the bottle counts
        (mix("clippers_daily_bleach", 2, 200, strength_pct=3.5), ["too_weak"]),
        (mix("clippers_daily_bleach", 2, 200, product_expires="2026-06-01"), []),  # its last day
        (mix("clippers_daily_bleach", 2, 200, product_expires="2026-05-31"), ["product_expired"]),
        (mix("canker_chlorine", 100, 400, ph=7.0), []),
        (mix("canker_chlorine", 100, 400, ph=11.5), ["wrong_ph"]),
        (mix("canker_chlorine", 100, 400), ["wrong_ph"]),
        (mix("canker_quat", 10, 200), []),
        (mix("clippers_alcohol", 1, 1000), []),  # used as it comes
    ],
)
def test_what_is_wrong_with_a_mixing_is_kept_too(mixed: dict[str, Any], flaws: list[str]) -> None:
    assert mixed.get("flaws", []) == flaws
    assert set(flaws) <= set(bath.WORDS)


@pytest.mark.parametrize("recipe", [r for r in RECIPES.values() if r.target_ppm], ids=lambda r: r.code)
def test_every_recipe_comes_out_at_its_strength_by_the_dilution_it_is_told(recipe: Any) -> None:
    """From the product that the page offers at first."""
    (strength,) = [agent.strength_pct for agent in CATALOGUE.agent if agent.code == recipe.agent]
    millilitres = dilution.product_ml(recipe.target_ppm, 10, strength)
    found = mix(recipe.code, 10, millilitres, strength_pct=strength, ph=recipe.ph_low)
    assert found["ppm"] == pytest.approx(recipe.target_ppm)
    assert "flaws" not in found


# --- mends, inspections, and what the rules have no say in


@pytest.mark.parametrize(
    ("fault", "release"),
    [
        ("bag_hole", ""),
        ("ladder_cracked_stile", "second"),
        ("trailer_brake", "second"),
        ("hurt_someone", "officer"),
    ],
)
def test_who_must_let_it_go_after_a_mend(fault: str, release: str) -> None:
    assert sealed("mended", {"fault": fault}, CLIPPERS).get("release", "") == release


def test_failed_points_are_kept_with_the_faults_that_they_open() -> None:
    facts = replace(CLIPPERS, judge=lambda checklist, answers: {"spring": "clippers_worn_spring"})
    detail = {"checklist": "clippers_daily", "answers": {"spring": "no"}}
    assert sealed("inspected", detail, facts) == {"failed": {"spring": "clippers_worn_spring"}, "rules": 1}
    assert sealed("inspected", detail, CLIPPERS) == {"rules": 1}
    morning = sealed("morning_checked", {"answers": {}}, facts)
    assert (morning["checklist"], morning["failed"]) == ("morning", {"spring": "clippers_worn_spring"})


def test_the_rules_have_no_say_in_the_rest() -> None:
    for verb in set(VERBS) - {"mended", "released", "inspected", "morning_checked", "cleaned", "mixed"}:
        assert sealed(verb, {}, CLIPPERS) == {}


def test_without_rules_nothing_is_asked_for() -> None:
    assert sealed("mixed", {"recipe": "x", "litres": 1, "product_ml": 1}, Facts(NO_RULES)) == {"rules": 0}
    assert sealed("cleaned", {"method": "wash"}, Facts(NO_RULES)) == {"rules": 0}


def test_only_words_that_nobody_sends_are_sealed() -> None:
    """What is sealed is declared by the verb; `recipe` is what the bath says, whatever was sent."""
    for verb, found in {
        "cleaned": dip("clippers_viroid_bleach"),
        "mixed": mix("canker_chlorine", 1, 1),
        "mended": sealed("mended", {"fault": "hurt_someone"}, CLIPPERS),
    }.items():
        assert set(found) - {"recipe"} <= set(VERBS[verb].sealed)
