"""What a day plan asks of pickers and crews, with the rules that come with the program."""

from dataclasses import replace
from typing import Any

import pytest

from equipment import catalogue
from equipment.domain.kit import KitLine, PlanFacts, Rule, complete, crew_kit, missing, picker_kit

RULES = catalogue.load().rule
SNAPPED_ORANGES = PlanFacts(clipped=False, crop="orange", tall_trees=False, present=30)
CLIPPED_LEMONS = PlanFacts(clipped=True, crop="lemon", tall_trees=True, present=30)


def asked(lines: tuple[KitLine, ...]) -> dict[str, tuple[int, str]]:
    return {line.kind: (line.quantity, line.need) for line in lines}


@pytest.mark.parametrize(
    ("plan", "kit"),
    [
        (SNAPPED_ORANGES, {"bag": "required", "goggles": "advised"}),
        (
            replace(SNAPPED_ORANGES, clipped=True),
            {"bag": "required", "clippers": "required", "goggles": "advised"},
        ),
        (
            replace(SNAPPED_ORANGES, crop="lemon"),
            {"bag": "required", "gloves": "required", "goggles": "advised"},
        ),
        (
            CLIPPED_LEMONS,
            {"bag": "required", "clippers": "required", "gloves": "required", "goggles": "advised"},
        ),
    ],
)
def test_a_picker_is_asked_for_what_the_plan_needs(plan: PlanFacts, kit: dict[str, str]) -> None:
    """Bag always, clippers when clipping, gloves for lemons, goggles as best practice: common practice."""
    assert asked(picker_kit(RULES, plan)) == {kind: (1, need) for kind, need in kit.items()}


@pytest.mark.parametrize("crop", ["lemon", "Lemon", "LEMONS"])
def test_lemons_are_lemons_however_the_farm_writes_them(crop: str) -> None:
    assert "gloves" in asked(picker_kit(RULES, replace(SNAPPED_ORANGES, crop=crop)))


@pytest.mark.parametrize("kind", ["toilet", "hand_wash_stand"])
@pytest.mark.parametrize(
    ("present", "quantity"),
    [(11, 1), (20, 1), (21, 2), (40, 2), (41, 3)],
)
def test_toilets_and_hand_washing_by_head_count(kind: str, present: int, quantity: int) -> None:
    """One each for every 20 workers or part of it, from 11 workers: US DOL Fact Sheet 51, 29 CFR 1928.110."""
    lines = asked(crew_kit(RULES, replace(SNAPPED_ORANGES, present=present)))
    assert lines[kind] == (quantity, "required")


@pytest.mark.parametrize("kind", ["toilet", "hand_wash_stand"])
@pytest.mark.parametrize("present", [1, 10])
def test_below_eleven_workers_they_are_only_advised(kind: str, present: int) -> None:
    """The standard applies from 11 hand labourers: US DOL Fact Sheet 51. The advice: common practice."""
    lines = asked(crew_kit(RULES, replace(SNAPPED_ORANGES, present=present)))
    assert lines[kind] == (1, "advised")


@pytest.mark.parametrize(("present", "ladders"), [(1, 1), (3, 1), (4, 2), (30, 10), (31, 11)])
def test_ladders_go_with_tall_trees_in_proportion(present: int, ladders: int) -> None:
    """One for every three people, which the farm may change: common practice."""
    tall = replace(SNAPPED_ORANGES, tall_trees=True, present=present)
    assert asked(crew_kit(RULES, tall))["ladder"] == (ladders, "required")
    assert "ladder" not in asked(crew_kit(RULES, replace(tall, tall_trees=False)))


def test_every_crew_takes_first_aid_tools_and_water() -> None:
    """A first-aid box where more than five work: South Africa, General Safety Regulations reg. 3(2).

    Water: ten people who drink a cup (237 mL) every 15 to 20 minutes, as NIOSH advises, empty 25 L in 2.6 to
    3.5 hours: about three, as the rule says.
    """
    lines = asked(crew_kit(RULES, SNAPPED_ORANGES))
    assert lines["first_aid_kit"] == (1, "required")
    assert lines["toolbox"] == (1, "required")
    assert lines["water_container"] == (3, "required")
    hours = [25 / (10 * 0.237 * cups) for cups in (4, 3)]
    assert hours == pytest.approx([2.6, 3.5], abs=0.05)


def test_spares_are_advised_for_what_the_crew_uses() -> None:
    snapped, clipped = asked(crew_kit(RULES, SNAPPED_ORANGES)), asked(crew_kit(RULES, CLIPPED_LEMONS))
    assert snapped["bag"] == clipped["bag"] == (2, "advised")
    assert clipped["clippers"] == (3, "advised")
    assert clipped["gloves"] == (2, "advised")
    assert not {"clippers", "gloves"} & set(snapped)


def test_nobody_present_needs_nothing_in_proportion() -> None:
    lines = asked(crew_kit(RULES, replace(CLIPPED_LEMONS, present=0)))
    assert lines == {"first_aid_kit": (1, "required"), "toolbox": (1, "required")}


PALESA_KIT = picker_kit(RULES, CLIPPED_LEMONS)


@pytest.mark.parametrize(
    ("held", "waived", "short", "may_pick"),
    [
        ({}, (), {"bag": 1, "clippers": 1, "gloves": 1, "goggles": 1}, False),
        ({"bag": 1, "clippers": 1}, (), {"gloves": 1, "goggles": 1}, False),
        ({"bag": 1, "clippers": 1, "gloves": 1}, (), {"goggles": 1}, True),
        ({"bag": 1, "clippers": 1, "gloves": 1, "goggles": 1}, (), {}, True),
        ({"bag": 1, "clippers": 1, "glove": 2}, (), {"goggles": 1}, True),
        ({"bag": 1, "clippers": 1, "glove": 1}, (), {"gloves": 1, "goggles": 1}, False),
        ({"bag": 1, "clippers": 1}, ("gloves",), {"goggles": 1}, True),
        ({"bag": 2, "clippers": 1}, ("gloves", "goggles"), {}, True),
        ({"clippers": 9}, ("gloves",), {"bag": 1, "goggles": 1}, False),
    ],
)
def test_what_is_missing(
    held: dict[str, int], waived: tuple[str, ...], short: dict[str, int], may_pick: bool
) -> None:
    assert {line.kind: line.quantity for line in missing(PALESA_KIT, held, waived)} == short
    assert complete(PALESA_KIT, held, waived) is may_pick


@pytest.mark.parametrize(
    ("held", "short"),
    [({"gloves": 1, "glove": 2}, 0), ({"gloves": 1, "glove": 1}, 1), ({"glove": 3}, 1), ({"glove": 4}, 0)],
)
def test_two_single_gloves_stand_for_a_pair(held: dict[str, int], short: int) -> None:
    two_pairs = (KitLine("gloves", 2, "required", "spare"),)
    assert sum(line.quantity for line in missing(two_pairs, held)) == short


def test_a_pair_does_not_stand_for_a_single_glove() -> None:
    single = (KitLine("glove", 1, "required", "the lost one"),)
    assert missing(single, {"gloves": 1}) == single


def test_lines_keep_the_order_of_the_rules() -> None:
    assert [line.kind for line in picker_kit(RULES, CLIPPED_LEMONS)] == [
        "bag",
        "clippers",
        "gloves",
        "goggles",
    ]
    assert [line.kind for line in picker_kit(RULES[::-1], CLIPPED_LEMONS)] == [
        "goggles",
        "gloves",
        "clippers",
        "bag",
    ]


@pytest.mark.parametrize("turned", [False, True])
def test_of_two_rules_for_a_kind_the_stricter_counts(turned: bool) -> None:
    advised = Rule("more", "bag", "crew", "advised", "spares", "common practice", quantity=5)
    required = Rule("must", "bag", "crew", "required", "rain", "common practice", quantity=2)
    higher = Rule("most", "bag", "crew", "required", "heat", "common practice", quantity=3)
    rules = (higher, required, advised) if turned else (advised, required, higher)
    assert crew_kit(rules, SNAPPED_ORANGES) == (KitLine("bag", 3, "required", "heat"),)


@pytest.mark.parametrize("wrong", [{"quantity": 0}, {"per": 0}, {"per": -20}, {"source": " "}])
def test_a_rule_that_cannot_be_asked_is_refused(wrong: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match="picker_bag"):
        replace(RULES[0], **wrong)
