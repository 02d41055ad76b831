"""The crew's morning check: what the head-count asks for, which points fail, and answers that are none."""

from typing import Any

import pytest

from equipment.domain.checklist import BadAnswer, asked, check, failed
from equipment.domain.kit import PlanFacts, crew_kit
from tests.rulebook import CATALOGUE

(MORNING,) = [each for each in CATALOGUE.checklist if each.code == "morning"]
(LADDER,) = [each for each in CATALOGUE.checklist if each.code == "ladder_monthly"]


def kit(present: int) -> dict[str, int]:
    """What the crew must have on a morning with so many people present."""
    plan = PlanFacts(clipped=True, crop="orange", tall_trees=False, present=present)
    return {line.kind: line.quantity for line in crew_kit(CATALOGUE.rule, plan) if line.need == "required"}


def answers(present: int = 12, **other: Any) -> dict[str, Any]:
    """All in order, with plenty of everything."""
    good = {
        "present": present,
        "kits": "yes",
        "long_nails": 0,
        "open_wounds": 0,
        "first_aid_kits": 9,
        "water": 9,
        "toilets": 9,
        "hand_washing": 9,
        "gloves_dry": "yes",
        "temperature": 20,
        "humidity": 60,
        "fruit_dry": "yes",
    }
    return {**good, **other}


# One for every 20 workers or part of it: US DOL Fact Sheet 51 on 29 CFR 1928.110; from 11 hand-labour workers.
BY_HEAD_COUNT = [(10, 0), (11, 1), (20, 1), (21, 2), (40, 2), (41, 3), (60, 3), (61, 4)]


@pytest.mark.parametrize("point", ["toilets", "hand_washing"])
@pytest.mark.parametrize(("present", "needed"), BY_HEAD_COUNT)
def test_toilets_and_hand_washing_by_head_count(point: str, present: int, needed: int) -> None:
    for there in range(needed + 2):
        short = failed(MORNING.point, answers(present, **{point: there}), kit(present))
        assert (point in short) == (there < needed), there


def test_a_morning_when_all_is_in_order() -> None:
    assert failed(MORNING.point, answers(), kit(12)) == {}
    check(MORNING.point, answers(), crops=["orange"])


@pytest.mark.parametrize(
    ("given", "fails"),
    [
        ({"present": 0}, ["present"]),
        ({"kits": "no"}, ["kits"]),
        ({"kits": False}, ["kits"]),
        ({"kits": True}, []),
        ({"long_nails": 1}, ["long_nails"]),
        ({"open_wounds": 2}, ["open_wounds"]),
        ({"first_aid_kits": 0}, ["first_aid_kits"]),
        ({"water": 1}, ["water"]),
        ({"gloves_dry": "no"}, ["gloves_dry"]),
        # Picked between 13 and 30 degrees C, at most 70 % relative humidity, no wet fruit: common practice.
        ({"temperature": 12.9}, ["temperature"]),
        ({"temperature": 13}, []),
        ({"temperature": 30}, []),
        ({"temperature": 30.1}, ["temperature"]),
        ({"humidity": 70}, []),
        ({"humidity": 71}, ["humidity"]),
        ({"fruit_dry": "no"}, ["fruit_dry"]),
        # Lemons not during a cold front, nor for two days after: common practice.
        ({"cold_front": 1}, ["cold_front"]),
        ({"cold_front": 2}, []),
        ({"toilets": 0, "fruit_dry": "no"}, ["toilets", "fruit_dry"]),
    ],
)
def test_what_is_not_in_order(given: dict[str, Any], fails: list[str]) -> None:
    found = failed(MORNING.point, answers(**given), kit(12))
    assert list(found) == fails
    assert set(found.values()) <= {""}  # a crew has no faults


def test_the_cold_front_is_asked_of_lemons_only() -> None:
    assert "cold_front" not in {point.code for point in asked(MORNING.point, ["orange"])}
    assert "cold_front" in {point.code for point in asked(MORNING.point, ["orange", "lemon"])}
    with pytest.raises(BadAnswer, match=r"Not answered yet: cold_front\."):
        check(MORNING.point, answers(), crops=["lemon"])
    check(MORNING.point, answers(cold_front=3), crops=["lemon"])
    check(MORNING.point, answers())  # crop not known: may be answered or not
    check(MORNING.point, answers(cold_front=3))


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({"kits": None}, r"Not answered yet: kits\."),
        ({"kits": "", "water": ""}, r"Not answered yet: kits, water\."),
        ({"kits": "perhaps"}, "“perhaps” is no answer to the point “kits”"),
        ({"present": "twelve"}, "“twelve” is no answer to the point “present”"),
        ({"present": True}, "“True” is no answer to the point “present”"),
        ({"moon": "full"}, "There is no point “moon”"),
    ],
)
def test_answers_that_are_none(given: dict[str, Any], sentence: str) -> None:
    with pytest.raises(BadAnswer, match=sentence):
        check(MORNING.point, answers(**given))


def test_counts_and_never_names() -> None:
    """Nails and wounds are counted."""
    counted = [point for point in MORNING.point if point.code in ("long_nails", "open_wounds")]
    assert {point.answer for point in counted} == {"number"}


# --- an item's inspection


@pytest.mark.parametrize(
    ("given", "opens"),
    [
        ({}, {}),
        ({"rungs_tight": "no"}, {"rungs_tight": "ladder_loose_rung"}),
        ({"length": 4.88}, {}),  # 16 ft: WAC 296-307-05505
        ({"length": 4.89}, {"length": ""}),
        ({"rating": 102}, {}),  # 225 lb, type II: ANSI A14 (seen second-hand)
        ({"rating": 101}, {"rating": "ladder_plate"}),
        (
            {"spreader": "no", "third_leg": "no"},
            {"spreader": "ladder_spreader", "third_leg": "ladder_third_leg_pin"},
        ),
    ],
)
def test_a_failed_point_opens_its_fault(given: dict[str, Any], opens: dict[str, str]) -> None:
    sound = {point.code: "yes" for point in LADDER.point} | {"length": 3, "rating": 150}
    assert failed(LADDER.point, sound | given) == opens


def test_an_inspection_with_a_point_missing() -> None:
    with pytest.raises(BadAnswer, match=r"Not answered yet: .*feet"):
        check(LADDER.point, {"rungs_tight": "yes"})
