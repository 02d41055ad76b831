"""The catalogue is whole, every number in it has a source, and a broken one is refused in plain words."""

import re
import tomllib
from collections.abc import Iterator
from importlib.resources import files
from typing import Any

import pytest

from equipment import catalogue
from equipment.catalogue import CatalogueError
from equipment.domain import codes

TEXTS = {name: (files(catalogue) / f"{name}.toml").read_text("utf-8") for name in catalogue.TABLES}
WHOLE = catalogue.load()
KINDS = {kind.code: kind for kind in WHOLE.kind}
FAULTS = {fault.code: fault for fault in WHOLE.fault}
RECIPES = {recipe.code: recipe for recipe in WHOLE.recipe}
DISEASES = {disease.code: disease for disease in WHOLE.disease}


def tables(value: Any, path: str) -> Iterator[tuple[str, dict[str, Any]]]:
    if isinstance(value, dict):
        yield path, value
        for key, inner in value.items():
            yield from tables(inner, f"{path}.{key}")
    if isinstance(value, list):
        for place, inner in enumerate(value, 1):
            yield from tables(inner, f"{path}[{place}]")


def without_source(name: str, text: str) -> list[str]:
    """Tables with a number and no source; what lies in a first-aid kit is one list under one source."""
    return [
        path
        for path, table in tables(tomllib.loads(text), name)
        if any(type(value) in (int, float) for value in table.values())
        and not table.get("source", "").strip()
        and not re.search(r"contents\[\d+\]\.items", path)
    ]


@pytest.mark.parametrize("name", TEXTS)
def test_every_table_with_a_number_has_a_source(name: str) -> None:
    assert without_source(name, TEXTS[name]) == []


def test_that_check_finds_a_number_without_a_source() -> None:
    assert without_source("kit", "[[rule]]\nper = 20\n[[rule]]\nper = 3\nsource = 'common practice'") == [
        "kit.rule[1]"
    ]


def test_kinds_are_those_of_the_farm() -> None:
    expected = """
        bag clippers ladder gloves glove goggles overalls gumboots trailer bin sheeting
        first_aid_kit toolbox water_container toilet hand_wash_stand
    """
    assert list(KINDS) == expected.split()
    prefixes = " ".join(kind.prefix for kind in WHOLE.kind)
    assert prefixes == "BG CL LD GL GS GG OV GB TR BN SH FA TB WC MT HW"


def test_prefixes_are_two_letters_and_differ_from_those_of_other_tags() -> None:
    prefixes = [kind.prefix for kind in WHOLE.kind]
    assert all(re.fullmatch("[A-Z]{2}", prefix) for prefix in prefixes)
    others = [codes.BADGE, codes.CREW, codes.SET, codes.COUNTER]
    assert len({*prefixes, *others}) == len(prefixes) + len(others)


@pytest.mark.parametrize(
    ("file", "old", "new", "says"),
    [
        ("kinds", 'prefix = "CL"', 'prefix = "BG"', "kind: prefix BG stands there twice"),
        ("kinds", 'prefix = "CL"', 'prefix = "C1"', "kind clippers, prefix"),
        ("kinds", 'code = "clippers"', 'code = "bag"', "kind: code bag stands there twice"),
        ("kit", 'kind = "bag"', 'kind = "sack"', "rule picker_bag: there is no kind sack"),
        ("kit", "per = 3", "per = 0", "crew_ladders: quantity and per are whole numbers from 1"),
        ("kit", "per = 3", "every = 3", "rule crew_ladders, every"),
        ("kit", "[[rule]]", "[[rules]]", "kit.toml: no table rules belongs here"),
        ("faults", 'kinds = ["bag"]', 'kinds = ["sack"]', "fault bag_torn_seam: there is no kind sack"),
        ("faults", "within_days = 1", "", "fault tag_unreadable: within_days goes with severity mend_by"),
        ("faults", 'released_by = "second"', "", "fault ladder_loose_rung: a structural fault"),
        ("checklists", "ladder_loose_rung", "bag_hole", "bag_hole is no fault of its kind"),
        ("checklists", "ladder_loose_rung", "ladder_loose", "there is no fault ladder_loose"),
        ("checklists", 'good = ["yes"]', 'good = ["maybe"]', "checklist ladder_daily, point, 0"),
        ("cleaning", "hours_in_use = 4\n", "hours_in_use = 0\n", "cleaning 1, hours_in_use"),
        ("agents", "contact_seconds = 600", "", "recipe clippers_daily_bleach: sterilising needs"),
        ("agents", 'agent = "bleach"', 'agent = "vinegar"', "there is no agent vinegar"),
        ("diseases", "at_least_ppm = 200\n", "", "disease citrus_canker, clears, 0"),
        ("diseases", "[[disease]]", "[[disease", "diseases.toml: Expected"),
        ("cautions", 'kinds = ["ladder"]', 'kinds = ["stool"]', "caution: there is no kind stool"),
    ],
)
def test_a_broken_catalogue_is_refused_in_plain_words(file: str, old: str, new: str, says: str) -> None:
    assert old in TEXTS[file]
    with pytest.raises(CatalogueError, match=re.escape(says)):
        catalogue.parse(TEXTS | {file: TEXTS[file].replace(old, new, 1)})


@pytest.mark.parametrize(
    ("file", "row", "says"),
    [
        ("kit", 'code = "crew_water"', "crew_water: numbers need a source"),
        ("cleaning", 'kind = "gloves"', "cleaning 3: hours_in_use, minutes need a source"),
        ("checklists", 'code = "length"', "checklist ladder_monthly, point, 12: high need a source"),
        ("faults", 'code = "bag_hole"', "fault bag_hole: minutes need a source"),
        ("agents", 'code = "surfaces_bleach"', "recipe surfaces_bleach: contact_seconds, items_per_litre"),
    ],
)
def test_a_number_that_lost_its_source_is_refused(file: str, row: str, says: str) -> None:
    stripped = re.sub(rf'({row}.*?)source = "[^"]*"', r'\1source = ""', TEXTS[file], count=1, flags=re.DOTALL)
    assert stripped != TEXTS[file]
    with pytest.raises(CatalogueError, match=re.escape(says)):
        catalogue.parse(TEXTS | {file: stripped})


def test_a_catalogue_is_frozen() -> None:
    with pytest.raises(ValueError, match="frozen"):
        WHOLE.kind[0].prefix = "XX"  # type: ignore[misc]


# --- the knowledge itself


def test_nobody_lets_out_what_can_maim() -> None:
    """Ladder structure, trailer brake or coupling, cracked goggles: nobody overrides those."""
    assert {fault.code for fault in WHOLE.fault if not fault.overridable} == {
        "hurt_someone",
        "goggles_cracked",
        "trailer_brake",
        "trailer_coupling",
        *(fault.code for fault in WHOLE.fault if fault.structural and fault.kinds == ("ladder",)),
    }
    assert FAULTS["hurt_someone"].released_by == "officer"
    assert all(fault.severity == "stop_use" for fault in WHOLE.fault if not fault.overridable)


@pytest.mark.parametrize("part", ["rung", "stile", "spreader", "third_leg_pin", "foot", "wobble"])
def test_what_carries_a_person_is_structural(part: str) -> None:
    found = [fault for fault in WHOLE.fault if fault.code.startswith("ladder_") and fault.code.endswith(part)]
    assert found
    assert all(fault.structural and fault.released_by == "second" for fault in found)


def test_dirt_and_wet_are_no_faults_to_mend() -> None:
    assert {fault.code: (fault.severity, fault.makes_due) for fault in WHOLE.fault if fault.makes_due} == {
        "dirty": ("note", "wash"),
        "wet": ("note", "dry"),
    }


def test_wire_is_never_a_mend() -> None:
    """Sewn with thread, wire is never a mend: common practice."""
    assert FAULTS["bag_wire_mend"].severity == "stop_use"
    assert all("wire" in fault.never for fault in WHOLE.fault if fault.kinds == ("bag",))
    assert "thread" in FAULTS["bag_torn_seam"].mend


def test_first_aid_contents_are_those_of_the_standard() -> None:
    """ANSI/ISEA Z308.1-2014, classes A and B."""
    contents = {row.size: [item.quantity for item in row.items] for row in WHOLE.contents}
    assert contents == {
        "class A": [16, 1, 10, 10, 1, 1, 10, 1, 2, 1, 1, 6, 2, 1, 1, 2, 2, 1],
        "class B": [50, 2, 25, 50, 1, 2, 25, 2, 2, 4, 1, 10, 4, 2, 1, 1, 1, 4, 1, 4, 2],
    }
    assert set(contents) == set(KINDS["first_aid_kit"].sizes)


def test_every_bleach_recipe_is_beside_the_cautions() -> None:
    bleach = next(agent for agent in WHOLE.agent if agent.code == "bleach")
    said = " ".join(bleach.cautions)
    for word in ("Label and safety sheet", "into water", "vinegar included", "ammonia", "Gloves, goggles"):
        assert word in said


def test_no_recipe_asks_for_acid_or_ammonia() -> None:
    steps = {recipe.code: " ".join((*recipe.before, *recipe.after)).lower() for recipe in WHOLE.recipe}
    assert [code for code, said in steps.items() if re.search("acid|vinegar|ammonia", said)] == []
    assert "never add acid or vinegar" in " ".join(RECIPES["canker_chlorine"].cautions)
    assert RECIPES["canker_chlorine"].product_ph


def clears(disease: str, recipe: str) -> bool:
    bath = RECIPES[recipe]
    return any(
        row.agent == bath.agent
        and (bath.target_ppm or 0) >= (row.at_least_ppm or 0)
        and (bath.contact_seconds or 0) >= (row.at_least_seconds or 0)
        for row in DISEASES[disease].clears
    )


@pytest.mark.parametrize(
    ("recipe", "clears_it"),
    [
        ("clippers_viroid_bleach", True),
        ("clippers_daily_bleach", False),
        ("canker_chlorine", False),
        ("clippers_alcohol", False),
        ("canker_quat", False),
    ],
)
def test_what_clears_an_exocortis_flag(recipe: str, clears_it: bool) -> None:
    """About 1 % hypochlorite for a second does, alcohol does not: Roistacher, Calavan & Blue 1969.

    Plant Disease Reporter 53(5):333-336. Weaker bleach was not shown to, and so does not clear the flag.
    """
    assert clears("exocortis", recipe) is clears_it


def test_baths_have_the_published_strengths() -> None:
    """Named beside each row; 1 % is 10 000 ppm by definition."""
    strengths = {
        code: (row.target_ppm, row.contact_seconds, row.life_minutes) for code, row in RECIPES.items()
    }
    assert strengths["clippers_daily_bleach"] == (
        round(5 / (1 + 9) * 10_000),
        600,
        120,
    )  # 1 + 9 of 5 %, 10 min, 2 h: Iowa State
    assert RECIPES["clippers_viroid_bleach"].target_ppm == round(
        0.20 * 5.25 * 10_000
    )  # Roistacher et al. 1969
    assert RECIPES["canker_chlorine"].target_ppm == 200  # 7 CFR 301.75-11(d)(1), 1989
    assert (RECIPES["canker_chlorine"].ph_low, RECIPES["canker_chlorine"].ph_high) == (6.0, 7.5)
    assert RECIPES["canker_quat"].target_ppm == round(0.2 * 10_000)  # 7 CFR 301.75-11(d)(2), 1989
    assert strengths["surfaces_bleach"] == (1000, 600, 24 * 60)  # CDC, 9 February 2021: 0.1 %, new every day


def test_a_shelf_time_outlasts_a_week_end() -> None:
    """Friday 17:00 to Monday 05:30: common practice."""
    clippers = next(rule for rule in WHOLE.cleaning if rule.kind == "clippers")
    assert clippers.shelf_hours
    assert clippers.shelf_hours >= 60.5


def test_no_route_is_implied_where_there_is_none() -> None:
    """Huanglongbing goes by insect and graft, not by gear; exocortis by cutting tools alone (from memory)."""
    assert DISEASES["huanglongbing"].carriers == ()
    assert DISEASES["exocortis"].carriers == ("clippers",)


def test_weather_limits_of_the_morning_check() -> None:
    """13 to 30 degrees C, at most 70 % humidity, lemons two days after a cold front: common practice."""
    morning = next(row for row in WHOLE.checklist if row.code == "morning")
    limits = {point.code: (point.low, point.high) for point in morning.point}
    assert limits["temperature"] == (13, 30)
    assert limits["humidity"] == (0, 70)
    assert limits["cold_front"] == (2, None)
    assert morning.kind is None
    measured_by_kit = {point.per_kit for point in morning.point if point.per_kit}
    assert measured_by_kit == {"first_aid_kit", "water_container", "toilet", "hand_wash_stand"}
    assert measured_by_kit <= {rule.kind for rule in WHOLE.rule if rule.holder == "crew"}
