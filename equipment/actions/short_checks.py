"""The short daily look at a piece of gear, that one "all good" answers."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from equipment.actions.inspect_item import all_good
from equipment.models import rules

# Asked before each use, or every day.
DAILY = 1


@dataclass(frozen=True, slots=True)
class ShortCheck:
    checklist: str
    answers: dict[str, Any]


def short_checks(at: datetime) -> dict[str, ShortCheck]:
    """Kind -> its daily check, by the rules in force at `at`; kinds without one, or whose check asks for more than yes
    or no, are left out."""
    found: dict[str, ShortCheck] = {}
    for kind, inspections in rules.rules_at(at).inspections.items():
        for rule in sorted(inspections, key=lambda each: each.every_days):
            if rule.every_days <= DAILY and kind not in found and (answers := _all_good(rule.checklist)):
                found[kind] = ShortCheck(rule.checklist, answers)
    return found


def _all_good(checklist: str) -> dict[str, Any]:
    try:
        return all_good(checklist)
    except ValueError:
        return {}
