"""The ways to clean at a store now: its baths that take pieces, washing, drying. Each has a code: `bath:<number>`,
`wash:<recipe>`, `dry`."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from equipment.actions import names
from equipment.actions.wording import moment
from equipment.domain.rules import RecipeRule
from equipment.models import washing
from equipment.models.rules import rules_at
from equipment.models.washing import StandingBath


@dataclass(frozen=True)
class Known:
    """`method` as in the verb `cleaned`; `kinds` that it is for, None for all; `needs` so many seconds; `bath` where it
    is one."""

    code: str
    name: str
    method: str
    kinds: tuple[str, ...] | None = None
    needs: int = 0
    bath: StandingBath | None = None
    recipe: RecipeRule | None = None

    def for_script(self) -> dict[str, Any]:
        return {
            "code": self.code,
            "name": self.name,
            "method": self.method,
            "needs": self.needs,
            "bath": str(self.bath.own) if self.bath else None,
            "recipe": self.recipe.code if self.recipe and not self.bath else None,
        }


def ways(store: str, at: datetime) -> dict[str, Known]:
    """By code: the baths that take pieces first, the one mixed last in front."""
    recipes = rules_at(at).recipes
    found = [_of_bath(bath, recipes) for bath in washing.standing(store, at) if bath.against is None]
    found += [_of_wash(rule) for rule in recipes.values() if rule.method == "wash"]
    found.append(Known("dry", _("Drying"), "dry"))
    return {way.code: way for way in found}


def _of_bath(bath: StandingBath, recipes: Mapping[str, RecipeRule]) -> Known:
    rule = recipes.get(bath.state.recipe)
    said = {"name": names.recipe(bath.state.recipe), "mixed": moment(bath.state.mixed_at)}
    name = _("%(name)s, mixed %(mixed)s") % said
    kinds, needs = (rule.kinds, rule.contact_seconds or 0) if rule else ((), 0)
    return Known(code_of(bath.own), name, "sterilise", kinds, needs, bath, rule)


def _of_wash(rule: RecipeRule) -> Known:
    return Known(f"wash:{rule.code}", names.recipe(rule.code), "wash", rule.kinds, recipe=rule)


def code_of(own: UUID) -> str:
    return f"bath:{own}"
