"""The catalogue as one whole: no code twice, and no table that names something unknown."""

from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Annotated, Self

from pydantic import Field, model_validator

from equipment.catalogue.shapes import (
    Agent,
    Checklist,
    CleaningRule,
    Contents,
    Disease,
    FaultType,
    Kind,
    Recipe,
    Shape,
)
from equipment.domain.kit import Rule

Reference = tuple[str, str, str]
"""Where a code stands, the table it must be in, the code."""


class Catalogue(Shape):
    """Everything in the files, in their order. Every code that one table names is a code of another."""

    kind: Annotated[tuple[Kind, ...], Field(min_length=1)]
    rule: tuple[Rule, ...]
    fault: tuple[FaultType, ...] = ()
    checklist: tuple[Checklist, ...] = ()
    contents: tuple[Contents, ...] = ()
    cleaning: tuple[CleaningRule, ...] = ()
    agent: tuple[Agent, ...] = ()
    recipe: tuple[Recipe, ...] = ()
    disease: tuple[Disease, ...] = ()

    @model_validator(mode="after")
    def codes_are_unique(self) -> Self:
        for table in ("kind", "rule", "fault", "checklist", "agent", "recipe", "disease"):
            _refuse_twice(table, "code", (row.code for row in getattr(self, table)))
        _refuse_twice("kind", "prefix", (kind.prefix for kind in self.kind))
        return self

    @model_validator(mode="after")
    def references_are_known(self) -> Self:
        known = {table: {row.code for row in getattr(self, table)} for table in ("kind", "fault", "agent")}
        unknown = [
            f"{place}: there is no {table} {code}"
            for place, table, code in self._references()
            if code not in known[table]
        ]
        if unknown:
            raise ValueError("; ".join(unknown))
        return self

    @model_validator(mode="after")
    def points_open_faults_of_their_own_kind(self) -> Self:
        faults = {fault.code: fault for fault in self.fault}
        for checklist in self.checklist:
            for point in checklist.point:
                if point.fault and not (checklist.kind and faults[point.fault].can_be_on(checklist.kind)):
                    raise ValueError(f"checklist {checklist.code}: {point.fault} is no fault of its kind")
        return self

    def _references(self) -> Iterator[Reference]:
        yield from (("rule " + rule.code, "kind", rule.kind) for rule in self.rule)
        yield from (("contents", "kind", contents.kind) for contents in self.contents)
        yield from (("cleaning", "kind", rule.kind) for rule in self.cleaning)
        for fault in self.fault:
            yield from (("fault " + fault.code, "kind", kind) for kind in fault.kinds)
        for checklist in self.checklist:
            yield from _checklist_references(checklist)
        for recipe in self.recipe:
            yield "recipe " + recipe.code, "agent", recipe.agent
            yield from (("recipe " + recipe.code, "kind", kind) for kind in recipe.kinds)
        for disease in self.disease:
            yield from (("disease " + disease.code, "kind", kind) for kind in disease.carriers)
            agents = [row.agent for row in disease.clears] + [row.agent for row in disease.does_not]
            yield from (("disease " + disease.code, "agent", agent) for agent in agents if agent)


def _checklist_references(checklist: Checklist) -> Iterator[Reference]:
    place = f"checklist {checklist.code}"
    if checklist.kind:
        yield place, "kind", checklist.kind
    for point in checklist.point:
        if point.per_kit:
            yield place, "kind", point.per_kit
        if point.fault:
            yield place, "fault", point.fault


def _refuse_twice(table: str, what: str, values: Iterable[str]) -> None:
    twice = [value for value, count in Counter(values).items() if count > 1]
    if twice:
        raise ValueError(f"{table}: {what} {', '.join(twice)} stands there twice")
