"""The demo farm's files are those of a farm that could be: everything counted, everything named once."""

import csv
import tomllib
from collections import Counter
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from equipment import catalogue
from equipment.domain.kit import PlanFacts, crew_kit

FOLDER = Path(__file__).parents[2] / "fixtures_demo"
COLUMNS = {
    "stores": "code,name",
    "crews": "name,store,supervisor",
    "blocks": "code,name,crop,variety,tall_trees,hectares,farm",
    "pickers": "number,name,crew,hand,glove_size,boot_size",
    "gear": "kind,store,count,make,size,hand,owner,price,supplier,delivery,material,legs,length_m,rating_kg,tag",
    "plans": "date,part,crew,block,clipped",
}


def rows(name: str) -> list[dict[str, str]]:
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, strict=True))


STORES, CREWS, BLOCKS, PICKERS, GEAR, PLANS = map(rows, COLUMNS)
FARM = tomllib.loads((FOLDER / "farm.toml").read_text("utf-8"))
KINDS = {kind.code: kind for kind in catalogue.load().kind}
STORE_OF = {crew["name"]: crew["store"] for crew in CREWS}
PEOPLE = Counter(STORE_OF[picker["crew"]] for picker in PICKERS)


def pieces(kind: str, store: str, **traits: str) -> int:
    alike = traits.items()
    return sum(
        int(row["count"])
        for row in GEAR
        if (row["kind"], row["store"]) == (kind, store) and alike <= row.items()
    )


@pytest.mark.parametrize("name", COLUMNS)
def test_columns_are_those_of_the_import(name: str) -> None:
    lines = (FOLDER / f"{name}.csv").read_text("utf-8").splitlines()
    assert lines[0] == COLUMNS[name]
    assert all(None not in row and None not in row.values() for row in rows(name))


def test_its_size() -> None:
    assert (len(STORES), len(CREWS), len(BLOCKS), len(PICKERS)) == (2, 8, 14, 240)
    assert 1_150 <= sum(int(row["count"]) for row in GEAR) <= 1_300


@pytest.mark.parametrize(
    ("table", "column"),
    [(STORES, "code"), (CREWS, "name"), (CREWS, "supervisor"), (BLOCKS, "code"), (PICKERS, "number")],
)
def test_what_names_a_thing_names_one(table: list[dict[str, str]], column: str) -> None:
    assert max(Counter(row[column] for row in table).values()) == 1


def test_one_name_is_borne_by_two_people_as_on_any_farm() -> None:
    borne = Counter(picker["name"] for picker in PICKERS)
    assert sorted(borne.values())[-2:] == [1, 2]
    assert any(not name.isascii() for name in borne)


def test_every_reference_is_known() -> None:
    stores, crews, blocks = (
        {row[key] for row in t} for t, key in ((STORES, "code"), (CREWS, "name"), (BLOCKS, "code"))
    )
    assert {row["store"] for row in (*CREWS, *GEAR)} == stores
    assert {row["crew"] for row in PICKERS} == crews
    assert {row["crew"] for row in PLANS} <= crews
    assert {row["block"] for row in PLANS} <= blocks
    assert {user.get("store") for user in FARM["user"]} == {*stores, None}


def test_users_have_a_role_and_crews_a_supervisor() -> None:
    roles = {user["username"]: user["roles"] for user in FARM["user"]}
    assert len(roles) == len(FARM["user"])
    assert {role for had in roles.values() for role in had} == {
        "storeman",
        "supervisor",
        "safety officer",
        "mender",
        "manager",
    }
    assert all("supervisor" in roles[crew["supervisor"]] for crew in CREWS)


def test_the_farm_has_a_place_in_the_world() -> None:
    assert ZoneInfo(FARM["farm"]["time_zone"])
    assert sum(bool(block["farm"]) for block in BLOCKS) == 1
    assert {block["tall_trees"] for block in BLOCKS} == {"yes", "no"}
    assert {block["crop"] for block in BLOCKS} == {"lemon", "orange", "mandarin", "grapefruit"}


def test_gear_is_of_known_kinds_sizes_and_hands() -> None:
    assert {row["kind"] for row in GEAR} == set(KINDS)
    for row in GEAR:
        kind = KINDS[row["kind"]]
        assert row["size"] in (kind.sizes or ("",)), row
        assert row["hand"] in (("left", "right") if kind.hands else ("",)), row
        assert float(row["price"]) > 0
        assert int(row["count"]) > 0


@pytest.mark.parametrize("store", ["HOME", "RIVER"])
@pytest.mark.parametrize("kind", ["bag", "clippers", "gloves", "goggles"])
def test_there_is_one_for_everyone_and_some_to_spare(store: str, kind: str) -> None:
    assert 1.08 <= pieces(kind, store) / PEOPLE[store] <= 1.16


@pytest.mark.parametrize("store", ["HOME", "RIVER"])
def test_hands_and_sizes_fit_the_people(store: str) -> None:
    theirs = [picker for picker in PICKERS if STORE_OF[picker["crew"]] == store]
    for hand, people in Counter(picker["hand"] for picker in theirs).items():
        assert pieces("clippers", store, hand=hand) >= people
    for size, people in Counter(picker["glove_size"] for picker in theirs).items():
        assert pieces("gloves", store, size=size) >= people
    assert {picker["boot_size"] for picker in theirs} <= set(KINDS["gumboots"].sizes)


@pytest.mark.parametrize("store", ["HOME", "RIVER"])
@pytest.mark.parametrize("kind", ["first_aid_kit", "toolbox", "water_container", "toilet", "hand_wash_stand"])
def test_every_crew_can_be_equipped_at_once(store: str, kind: str) -> None:
    rules = catalogue.load().rule
    sizes = Counter(picker["crew"] for picker in PICKERS if STORE_OF[picker["crew"]] == store)
    kits = [crew_kit(rules, PlanFacts(True, "lemon", False, present)) for present in sizes.values()]
    needed = sum(line.quantity for kit in kits for line in kit if line.kind == kind)
    assert needed < pieces(kind, store)


def test_the_weak_make_is_one_that_the_farm_has() -> None:
    faults = {fault.code: fault for fault in catalogue.load().fault}
    for weak in FARM["season"]["weak"]:
        assert weak["make"] in {row["make"] for row in GEAR if row["kind"] == weak["kind"]}
        assert faults[weak["fault"]].can_be_on(weak["kind"])
