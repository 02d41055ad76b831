"""Of a sheet: what the trade and the farm's rules say of gear, in words of the asker's language and in numbers."""

from typing import Any

from django.utils.translation import gettext as _
from pydantic import TypeAdapter

from equipment.catalogue.shapes import Checklist, Point
from equipment.domain import kit
from equipment.domain.fault_tags import FAULT_TAGS
from equipment.domain.rules import RecipeRule, Rules
from equipment.models.gear import Kind
from equipment.models.kits import rules as kit_rules
from equipment.models.rules import whole

RULES = TypeAdapter(Rules)
KIT = TypeAdapter(tuple[kit.Rule, ...])
RECIPE = TypeAdapter(RecipeRule)


def told(rules: Rules) -> dict[str, Any]:
    """`rules` and `kit` have the field names of `domain.rules` and `domain.kit`. One query."""
    return {
        "kinds": kinds(),
        "faults": faults(rules),
        "checklists": [_checklist(each) for each in whole().checklist],
        "recipes": recipes(rules),
        "cautions": [{"kinds": list(each.kinds), "text": _(each.text)} for each in whole().caution],
        "rules": RULES.dump_python(rules),
        "kit": [_worded(rule) for rule in KIT.dump_python(kit_rules())],
    }


def kinds() -> list[dict[str, Any]]:
    """`stays_in_orchard`: it may stay out overnight."""
    stays = {kind.code for kind in whole().kind if kind.stays_in_orchard}
    return [
        {
            "code": kind.pk,
            "name": _(kind.name),
            "name_plural": _(kind.name_plural),
            "prefix": kind.prefix,
            "issued_to": kind.issued_to,
            "comes_back": kind.comes_back,
            "sizes": kind.sizes,
            "hands": kind.hands,
            "icon": kind.icon,
            "stays_in_orchard": kind.pk in stays,
        }
        for kind in Kind.objects.all()
    ]


def faults(rules: Rules) -> list[dict[str, Any]]:
    """Words from the catalogue, what follows from a fault by the rules in force. `tag` is the number on its counter
    tag, null where it has none."""
    found = []
    for fault in whole().fault:
        rule = rules.fault(fault.code)
        found.append(
            {
                "code": fault.code,
                "kinds": list(fault.kinds),
                "name": _(fault.name),
                "look": _(fault.look_for),
                "mend": _(fault.mend),
                "never_mend": _(fault.never),
                "severity": rule.severity,
                "within_days": rule.within_days,
                "structural": rule.structural,
                "released_by": rule.released_by,
                "overridable": rule.overridable,
                "makes_due": rule.makes_due,
                "where": fault.where,
                "minutes": fault.minutes,
                "tag": FAULT_TAGS.get(fault.code),
            }
        )
    return found


def recipes(rules: Rules) -> list[dict[str, Any]]:
    """Those in force: the numbers of the rules, and the words that stand beside them; cautions the agent's first."""
    agents = {agent.code: agent for agent in whole().agent}
    found = []
    for row in whole().recipe:
        if row.code not in rules.recipes:
            continue
        agent = agents[row.agent]
        found.append(
            {
                **RECIPE.dump_python(rules.recipes[row.code]),
                "name": _(row.name),
                "agent_name": _(agent.name),
                "measured_as": _(agent.measured_as),
                "strength_pct": agent.strength_pct,
                "powder": agent.powder,
                "product_ph": row.product_ph,
                "before": [_(step) for step in row.before],
                "after": [_(step) for step in row.after],
                "cautions": [_(caution) for caution in (*agent.cautions, *row.cautions)],
            }
        )
    return found


def _checklist(each: Checklist) -> dict[str, Any]:
    return {
        "code": each.code,
        "name": _(each.name),
        "kind": each.kind,
        "every_days": each.every_days,
        "recorded": each.recorded,
        "points": [_point(point) for point in each.point],
    }


def _point(point: Point) -> dict[str, Any]:
    plain = point.model_dump(exclude={"source"})
    return {**plain, "ask": _(point.ask), "unit": _(point.unit) if point.unit else ""}


def _worded(rule: dict[str, Any]) -> dict[str, Any]:
    return {**rule, "why": _(rule["why"])}
