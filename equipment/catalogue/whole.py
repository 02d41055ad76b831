"""The catalogue as one whole: no code twice, and no table that names something unknown."""

from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Annotated, Self

from pydantic import Field, model_validator

from equipment.catalogue.shapes import (
    Agent,
    Caution,
    Checklist,
    CleaningRule,
    Contents,
    Disease,
    FaultType,
    Foresight,
    Goods,
    Kind,
    Recipe,
    Shape,
    Work,
)
from equipment.domain.kit import Rule

Reference = tuple[str, str, str]
"""Where a code stands, the table it must be in, the code."""

NAMED = ("kind", "fault", "agent", "checklist", "recipe")
"""The tables that others name by code."""


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
    caution: tuple[Caution, ...] = ()
    goods: tuple[Goods, ...] = ()
    work: tuple[Work, ...] = ()
    foresight: tuple[Foresight, ...] = ()

    @model_validator(mode="after")
    def codes_are_unique(self) -> Self:
        for table in (
            "kind",
            "rule",
            "fault",
            "checklist",
            "agent",
            "recipe",
            "disease",
            "goods",
            "foresight",
        ):
            _refuse_twice(table, "code", (row.code for row in getattr(self, table)))
        _refuse_twice("kind", "prefix", (kind.prefix for kind in self.kind))
        _refuse_twice("cleaning", "rule", (f"{rule.kind} {rule.method}" for rule in self.cleaning))
        _refuse_twice("work", "what", (f"{each.what} {each.name}".strip() for each in self.work))
        for disease in self.disease:
            _refuse_twice(
                f"disease {disease.code}", "agent", (way.agent for way in disease.clears if way.agent)
            )
        return self

    @model_validator(mode="after")
    def references_are_known(self) -> Self:
        known = {table: {row.code for row in getattr(self, table)} for table in NAMED}
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
        yield from (("foresight " + row.code, "kind", row.kind) for row in self.foresight if row.kind)
        for caution in self.caution:
            yield from (("caution", "kind", kind) for kind in caution.kinds)
        for each in self.work:
            if each.name:
                yield f"work {each.what}", "checklist" if each.what == "inspect" else "recipe", each.name
        yield from (("goods " + goods.code, "agent", goods.agent) for goods in self.goods if goods.agent)
        for disease in self.disease:
            yield from (
                ("disease " + disease.code, "kind", kind) for kind in (*disease.carriers, *disease.may_carry)
            )
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
