"""The recipes in force, with what the catalogue says beside their numbers: names, steps, cautions."""

from dataclasses import dataclass
from datetime import datetime
from functools import cache

from django.utils.translation import gettext as _

from equipment.catalogue.shapes import Agent, Recipe
from equipment.domain.rules import RecipeRule
from equipment.domain.verbs.emptied import PLACES
from equipment.models import Kind
from equipment.models.rules import rules_at, whole

SEWER = "septic tank or sewer"


@dataclass(frozen=True)
class KnownRecipe:
    """`rule` are the numbers in force, `row` and `agent` the catalogue's words."""

    rule: RecipeRule
    row: Recipe
    agent: Agent

    @property
    def name(self) -> str:
        return _(self.row.name)

    @property
    def cautions(self) -> list[str]:
        return [_(caution) for caution in (*self.agent.cautions, *self.row.cautions)]

    @property
    def before(self) -> list[str]:
        return [_(step) for step in self.row.before]

    @property
    def after(self) -> list[str]:
        return [_(step) for step in self.row.after]

    @property
    def asks_ph(self) -> bool:
        return self.row.product_ph

    @property
    def emptied(self) -> list[tuple[str, str]]:
        """Where it may be emptied, by its cautions."""
        sewer = any(SEWER in caution for caution in self.agent.cautions)
        allowed = ("sewer", "label") if sewer else ("label", "collected")
        return [(code, _(PLACES[code])) for code in allowed]


def in_force(at: datetime) -> dict[str, KnownRecipe]:
    """By code, in the order of the catalogue; none where no rules are in force."""
    rules = rules_at(at).recipes
    return {
        code: KnownRecipe(rules[code], row, agents()[row.agent])
        for code, row in _rows().items()
        if code in rules
    }


def with_words(rule: RecipeRule) -> KnownRecipe:
    """A recipe of the rules with what the catalogue says beside it. Asks nothing of the database."""
    return KnownRecipe(rule, _rows()[rule.code], agents()[rule.agent])


def known(code: str, at: datetime) -> KnownRecipe | None:
    """One recipe as it is in force, else as the catalogue has it; None where nobody knows it (any more)."""
    if found := in_force(at).get(code):
        return found
    row = _rows().get(code)
    return (
        KnownRecipe(RecipeRule(code, row.agent, row.method, row.kinds), row, agents()[row.agent])
        if row
        else None
    )


def by_kind(recipes: list[KnownRecipe]) -> list[tuple[str, list[KnownRecipe]]]:
    """What each kind can be cleaned in, in the order of the kinds; kinds without a recipe are left out."""
    fitting = (
        (kind, [each for each in recipes if kind.pk in each.rule.kinds]) for kind in Kind.objects.all()
    )
    return [(_(kind.name_plural), found) for kind, found in fitting if found]


@cache
def agents() -> dict[str, Agent]:
    return {agent.code: agent for agent in whole().agent}


@cache
def _rows() -> dict[str, Recipe]:
    return {recipe.code: recipe for recipe in whole().recipe}
