"""Facts that the rules of the day put into an entry when it is recorded, so that history keeps the rule of its day.

Whoever records does not send them; the ledger seals them in (`Verb.sealed` names the words). A fold then needs no
rules, and a register printed years later says what was asked for at the time.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from equipment.domain import bath
from equipment.domain.rules import Clears, RecipeRule, Rules
from equipment.domain.values import BathState

PPM_IN_ONE_PER_CENT = 10_000
Judge = Callable[[str, Mapping[str, Any]], Mapping[str, str]]
"""`judge(checklist, answers)`: the points that failed, each with the fault that it opens."""


@dataclass(frozen=True, slots=True)
class Facts:
    """What sealing may look at: the rules, the item's kind, the bath that the entry names, the day on the farm's
    calendar, and the checklists' judge."""

    rules: Rules
    kind: str = ""
    bath: BathState | None = None
    day: date | None = None
    strengths: Mapping[str, float] = field(default_factory=dict)
    judge: Judge = lambda checklist, answers: {}


def sealed(verb: str, detail: Mapping[str, Any], facts: Facts) -> dict[str, Any]:
    """The words to add to `detail`; {} for verbs that the rules have no say in."""
    seal = SEALS.get(verb)
    return {**seal(detail, facts), "rules": facts.rules.version} if seal else {}


def _mended(detail: Mapping[str, Any], facts: Facts) -> dict[str, Any]:
    by = facts.rules.fault(detail["fault"]).released_by
    return {} if by == "mender" else {"release": by}


def _released(detail: Mapping[str, Any], facts: Facts) -> dict[str, Any]:
    return {}


def _inspected(detail: Mapping[str, Any], facts: Facts) -> dict[str, Any]:
    failed = facts.judge(detail["checklist"], detail["answers"])
    return {"failed": dict(failed)} if failed else {}


def _morning_checked(detail: Mapping[str, Any], facts: Facts) -> dict[str, Any]:
    failed = facts.judge(MORNING, detail["answers"])
    return {"checklist": MORNING, **({"failed": dict(failed)} if failed else {})}


MORNING = "morning"


def _cleaned(detail: Mapping[str, Any], facts: Facts) -> dict[str, Any]:
    recipe = recipe_of(detail, facts)
    if recipe is None:
        return _without_recipe(detail["method"], facts.rules.clears)
    found: dict[str, Any] = {"recipe": recipe.code}
    if recipe.method != detail["method"] or facts.kind not in recipe.kinds:
        return {**found, "wrong": "wrong_recipe"}
    if recipe.contact_seconds:
        found["needs_seconds"] = recipe.contact_seconds
    if recipe.target_ppm:
        found["ppm"] = recipe.target_ppm
    if kills := killed(recipe, detail.get("seconds") or 0, facts.rules.clears):
        found["kills"] = list(kills)
    return found


def _without_recipe(method: str, clears: Mapping[str, tuple[Clears, ...]]) -> dict[str, Any]:
    """Sterilising counts by a named recipe only; any washing clears what washing ends."""
    if method == "sterilise":
        return {"wrong": "no_recipe"}
    kills = [code for code, ways in clears.items() if any(way.method == method for way in ways)]
    return {"kills": kills} if kills else {}


def recipe_of(detail: Mapping[str, Any], facts: Facts) -> RecipeRule | None:
    """The recipe of the bath, else the one that the entry names."""
    code = facts.bath.recipe if facts.bath is not None and facts.bath.recipe else detail.get("recipe")
    return facts.rules.recipes.get(code or "")


def killed(recipe: RecipeRule, seconds: int, clears: Mapping[str, tuple[Clears, ...]]) -> tuple[str, ...]:
    """The diseases whose flag `recipe` clears when it acts for so many seconds, by what was shown to work."""
    return tuple(code for code, ways in clears.items() if any(_kills(recipe, seconds, way) for way in ways))


def _kills(recipe: RecipeRule, seconds: int, way: Clears) -> bool:
    if way.method is not None:
        return recipe.method == way.method
    return (
        recipe.agent == way.agent
        and (recipe.target_ppm or 0) >= (way.at_least_ppm or 0)
        and seconds >= (way.at_least_seconds or 0)
    )


def _mixed(detail: Mapping[str, Any], facts: Facts) -> dict[str, Any]:
    recipe = facts.rules.recipes.get(detail["recipe"])
    if recipe is None:
        return {}
    strength = detail.get("strength_pct") or facts.strengths.get(recipe.agent)
    ppm = mixing_ppm(float(detail["product_ml"]), float(detail["litres"]), strength) if strength else None
    expires = date.fromisoformat(detail["product_expires"]) if detail.get("product_expires") else None
    expired = expires is not None and facts.day is not None and expires < facts.day
    found: dict[str, Any] = {
        "agent": recipe.agent,
        "ppm": round(ppm, 1) if ppm is not None else None,
        "life_minutes": recipe.life_minutes,
        "low_ppm": recipe.test_low_ppm,
        "high_ppm": recipe.test_high_ppm,
        "flaws": list(bath.flaws(recipe, ppm, detail.get("ph"), expired)),
    }
    if recipe.items_per_litre:
        found["capacity"] = int(recipe.items_per_litre * float(detail["litres"]))
    return {name: value for name, value in found.items() if value not in (None, [])}


def mixing_ppm(product_ml: float, litres: float, strength_pct: float) -> float:
    """The strength in ppm of `product_ml` of a product of `strength_pct` per cent made up to `litres`."""
    return product_ml * strength_pct * PPM_IN_ONE_PER_CENT / (litres * 1000)


SEALS: Mapping[str, Callable[[Mapping[str, Any], Facts], dict[str, Any]]] = {
    "mended": _mended,
    "released": _released,
    "inspected": _inspected,
    "morning_checked": _morning_checked,
    "cleaned": _cleaned,
    "mixed": _mixed,
}
