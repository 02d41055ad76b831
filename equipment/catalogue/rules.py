"""The rules that the catalogue gives: what a farm can set of each, the defaults, and all of them put together.

A subject names one rule in words and codes: "fault bag_hole", "cleaning clippers sterilise", "inspection
ladder_monthly", "recipe clippers_daily_bleach", "disease exocortis", "figures clippers". Its values are what a farm
can set, by name. What it cannot (the kinds, the agent, that a ladder's stile is structural) stays with the catalogue.
The crew's morning check holds no gear and is no rule.
"""

from collections import defaultdict
from collections.abc import Mapping
from typing import Any

from equipment.catalogue.shapes import Checklist, CleaningRule, Clears, Disease, FaultType, Foresight, Recipe
from equipment.catalogue.whole import Catalogue
from equipment.domain import rules
from equipment.domain.rules import Rules

Values = Mapping[str, Any]
Row = FaultType | CleaningRule | Checklist | Recipe | Disease | Foresight

OF_A_FAULT = ("severity", "within_days", "released_by", "overridable")
OF_A_FIGURE = ("planned_cost", "failure_cost", "level_pct", "weeks", "hour_cost")
# From the one who may let most go.
RELEASES = ("mender", "second", "officer")
OF_A_CLEANING = ("hours_in_use", "shelf_hours", "other_block", "other_picker")
OF_A_RECIPE = (
    "target_ppm",
    "contact_seconds",
    "life_minutes",
    "items_per_litre",
    "test_low_ppm",
    "test_high_ppm",
)


def rows(whole: Catalogue) -> dict[str, Row]:
    """Every subject with its row of the catalogue, in the order of the files."""
    return {
        **{f"fault {fault.code}": fault for fault in whole.fault},
        **{f"cleaning {rule.kind} {rule.method}": rule for rule in whole.cleaning},
        **{f"inspection {checklist.code}": checklist for checklist in whole.checklist if checklist.kind},
        **{f"recipe {recipe.code}": recipe for recipe in whole.recipe},
        **{f"disease {disease.code}": disease for disease in whole.disease},
        **{f"figures {row.code}": row for row in whole.foresight},
    }


def defaults(row: Row) -> dict[str, Any]:
    """What a farm can set of a rule, as the catalogue has it. Of dirt and wet nothing: a cleaning ends them."""
    match row:
        case FaultType():
            return {} if row.makes_due else {name: getattr(row, name) for name in OF_A_FAULT}
        case CleaningRule():
            return {**{name: getattr(row, name) for name in OF_A_CLEANING}, "holds": row.gate == "holds"}
        case Checklist():
            return {"every_days": row.every_days, "holds": row.gate == "holds"}
        case Recipe():
            return {name: getattr(row, name) for name in OF_A_RECIPE if getattr(row, name) is not None}
        case Foresight():
            return {name: getattr(row, name) for name in OF_A_FIGURE if getattr(row, name) is not None}
        case Disease():
            carried = {carried_by(kind): kind in row.carriers for kind in (*row.carriers, *row.may_carry)}
            return carried | {
                name: value
                for way in row.clears
                if way.agent
                for name, value in zip(names_of(way), (way.at_least_ppm, way.at_least_seconds), strict=True)
            }


def names_of(way: Clears) -> tuple[str, str]:
    """The names of the strength and of the time of what ends a flag."""
    return f"{way.agent}_ppm", f"{way.agent}_seconds"


def carried_by(kind: str) -> str:
    """The name of what says whether gear of this kind carries a disease."""
    return f"carried_by_{kind}"


def carriers(row: Disease, values: Values) -> tuple[str, ...]:
    """The kinds that carry the disease by what is set, in the order of the catalogue."""
    return tuple(kind for kind in (*row.carriers, *row.may_carry) if settled(row, values)[carried_by(kind)])


def kinds_of(row: Row) -> tuple[str, ...]:
    """The kinds that the rule speaks of; () for a fault of every kind, and for a disease that no gear carries."""
    match row:
        case FaultType() | Recipe():
            return row.kinds
        case CleaningRule():
            return (row.kind,)
        case Checklist() | Foresight():
            return (row.kind,) if row.kind else ()
        case Disease():
            return row.carriers


def touched(row: Row) -> tuple[str, ...] | None:
    """The kinds whose state leans on the rule, None for all of them. What a recipe asks for and what ends a flag is
    written into the entry when a piece is cleaned: a change of it touches nothing that has been."""
    match row:
        case Recipe() | Disease() | Foresight():
            return ()
        case FaultType():
            return row.kinds or None
        case _:
            return kinds_of(row)


def settled(row: Row, values: Values) -> dict[str, Any]:
    """`values` over the defaults; what they name that the catalogue does not know (any more) is left out."""
    return {name: values.get(name, default) for name, default in defaults(row).items()}


def assembled(whole: Catalogue, in_force: Mapping[str, Values], version: int) -> Rules:
    """The rules that `in_force` (subject -> values) makes; subjects that the catalogue does not know are left out."""
    faults, recipes, clears = {}, {}, {}
    cleaning: dict[str, list[rules.CleaningRule]] = defaultdict(list)
    inspections: dict[str, list[rules.InspectionRule]] = defaultdict(list)
    for subject, row in rows(whole).items():
        if subject not in in_force:
            continue
        values = settled(row, in_force[subject])
        match row:
            case FaultType():
                faults[row.code] = _fault(row, values)
            case CleaningRule():
                cleaning[row.kind].append(rules.CleaningRule(row.kind, row.method, **values))
            case Checklist():
                kind = row.kind or ""
                inspections[kind].append(rules.InspectionRule(row.code, kind, **values))
            case Recipe():
                recipes[row.code] = _recipe(row, values)
            case Disease():
                clears[row.code] = tuple(_clears(way, values) for way in row.clears)
    return Rules(
        version,
        faults,
        {kind: tuple(of_kind) for kind, of_kind in cleaning.items()},
        {kind: tuple(of_kind) for kind, of_kind in inspections.items()},
        recipes,
        clears,
    )


def _fault(row: FaultType, values: Values) -> rules.FaultRule:
    """Whatever is written down, what can maim stops the use and is let out by nobody."""
    set_by_farm = {**{name: getattr(row, name) for name in OF_A_FAULT}, **values}
    if not row.overridable:
        released_by = max(row.released_by, set_by_farm["released_by"], key=RELEASES.index)
        set_by_farm |= {"severity": row.severity, "within_days": None, "overridable": False}
        set_by_farm["released_by"] = released_by
    return rules.FaultRule(
        row.code, row.kinds, structural=row.structural, makes_due=row.makes_due, **set_by_farm
    )


def _recipe(row: Recipe, values: Values) -> rules.RecipeRule:
    return rules.RecipeRule(
        row.code,
        row.agent,
        row.method,
        row.kinds,
        ready_to_use=row.ready_to_use,
        ph_low=row.ph_low,
        ph_high=row.ph_high,
        **values,
    )


def _clears(way: Clears, values: Values) -> rules.Clears:
    if way.agent is None:
        return rules.Clears(method=way.method)
    ppm, seconds = names_of(way)
    return rules.Clears(agent=way.agent, at_least_ppm=values[ppm], at_least_seconds=values[seconds])
