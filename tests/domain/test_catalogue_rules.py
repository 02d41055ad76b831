"""The rules that the catalogue gives: what holds gear here, what a farm can set, and that the defaults may be set."""

import re
from importlib.resources import files
from typing import Any

import pytest

from equipment import catalogue
from equipment.catalogue import CatalogueError
from equipment.catalogue.limits import changed
from equipment.catalogue.rules import assembled, defaults, kinds_of, rows, touched
from equipment.catalogue.settable import settings_of
from equipment.domain.rules import InspectionRule

TEXTS = {name: (files(catalogue) / f"{name}.toml").read_text("utf-8") for name in catalogue.TABLES}
WHOLE = catalogue.load()
ROWS = rows(WHOLE)
RULES = assembled(WHOLE, {subject: {} for subject in ROWS}, version=1)


def test_what_is_recorded_holds_and_what_is_looked_over_warns() -> None:
    """Common practice: a ladder, a first-aid kit or a trailer that nobody has looked at stays here."""
    assert {row.code: row.gate for row in WHOLE.checklist} == {
        "ladder_daily": "warns",
        "ladder_monthly": "holds",
        "clippers_daily": "warns",
        "bag_weekly": "warns",
        "first_aid_weekly": "holds",
        "trailer_season": "holds",
        "goggles_weekly": "warns",
        "morning": None,
    }
    assert all((row.gate == "holds") == row.recorded for row in WHOLE.checklist if row.kind)


def test_the_morning_check_is_no_rule_that_holds_gear() -> None:
    assert "inspection morning" not in ROWS and "" not in RULES.inspections
    assert RULES.inspections["ladder"] == (
        InspectionRule("ladder_daily", "ladder", 0, holds=False),
        InspectionRule("ladder_monthly", "ladder", 30, holds=True),
    )


@pytest.mark.parametrize(
    ("file", "old", "new", "says"),
    [
        ("checklists", 'gate = "holds"\n', "", "checklist ladder_monthly: gate goes with a kind"),
        ("checklists", 'gate = "holds"', 'gate = "shut"', "checklist ladder_monthly, gate"),
        (
            "checklists",
            'name = "Morning check"',
            'name = "Morning"\ngate = "warns"',
            "checklist morning: gate",
        ),
        ("cleaning", 'kind = "bag"', 'kind = "gloves"', "cleaning: rule gloves wash stands there twice"),
        ("diseases", 'agent = "quat"', 'agent = "bleach"', "citrus_canker: agent bleach stands there twice"),
    ],
)
def test_a_broken_rule_is_refused_in_plain_words(file: str, old: str, new: str, says: str) -> None:
    assert old in TEXTS[file]
    with pytest.raises(CatalogueError, match=re.escape(says)):
        catalogue.parse(TEXTS | {file: TEXTS[file].replace(old, new, 1)})


@pytest.mark.parametrize("subject", ROWS)
def test_every_number_can_be_set_and_the_default_may_be(subject: str) -> None:
    row = ROWS[subject]
    values = defaults(row)
    assert [setting.name for setting in settings_of(row, WHOLE)] == list(values)
    assert changed(row, WHOLE, values, values) == (values, ())


@pytest.mark.parametrize("subject", [subject for subject in ROWS if subject.startswith("recipe ")])
def test_a_bath_as_the_catalogue_has_it_can_be_mixed_and_tested(subject: str) -> None:
    """Its strength lies within its test's limits and within what the product gives; as `changed` asks of the farm."""
    row: Any = ROWS[subject]
    strength = {agent.code: agent.strength_pct or 100 for agent in WHOLE.agent}[row.agent]
    assert (row.test_low_ppm or 0) <= (row.target_ppm or 0) <= (row.test_high_ppm or 10**6)
    assert (row.target_ppm or 0) <= strength * 10_000


@pytest.mark.parametrize(
    ("subject", "kinds", "leaning"),
    [
        ("cleaning clippers sterilise", ("clippers",), ("clippers",)),
        ("inspection bag_weekly", ("bag",), ("bag",)),
        ("fault glove_hole", ("gloves", "glove"), ("gloves", "glove")),
        ("fault hurt_someone", (), None),
        ("recipe clippers_alcohol", ("clippers",), ()),
        ("disease exocortis", ("clippers",), ()),
    ],
)
def test_which_gear_leans_on_a_rule(subject: str, kinds: Any, leaning: Any) -> None:
    assert (kinds_of(ROWS[subject]), touched(ROWS[subject])) == (kinds, leaning)


def test_what_is_not_in_force_is_not_there() -> None:
    only = assembled(WHOLE, {"fault bag_hole": {"severity": "note", "colour": "red"}, "fault bag_elf": {}}, 7)
    assert (only.version, list(only.faults), dict(only.cleaning), only.recipes) == (7, ["bag_hole"], {}, {})
    assert only.fault("bag_hole").severity == "note"
