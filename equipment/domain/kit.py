"""What a day plan asks a picker, or a crew, to hold before the picking starts.

The rules come as data, from the catalogue or from the farm's own; this file only applies them. A kit is
worked out anew whenever the plan changes: snapped in the morning and clipped after tea is another kit.
"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

Need = Literal["required", "advised"]
Holder = Literal["picker", "crew"]

PAIRED = {"gloves": "glove"}
"""Kinds tagged as a pair, and the kind whose pieces make up such a pair two by two."""


@dataclass(frozen=True, slots=True)
class PlanFacts:
    """What the kit depends on: clipped or snapped, the block's crop and trees, people present in the crew."""

    clipped: bool
    crop: str
    tall_trees: bool
    present: int


@dataclass(frozen=True, slots=True)
class Rule:
    """One kind asked of one holder, under conditions that must all be met.

    `clipped` and `tall_trees`: None where the rule does not care. `crops`: lower case, empty for every crop.
    `at_least` and `at_most` bound the people present, both included, None for no upper bound. `quantity` is
    asked once, or with `per` once for every `per` people present or part of them. `why` is plain words for
    the person at the counter, `source` says where the numbers come from. Raises ValueError for a number that
    cannot be asked, or that has no source.
    """

    __pydantic_config__ = {"extra": "forbid"}  # the catalogue is checked against these fields

    code: str
    kind: str
    holder: Holder
    need: Need
    why: str
    source: str
    quantity: int = 1
    per: int | None = None
    clipped: bool | None = None
    tall_trees: bool | None = None
    crops: tuple[str, ...] = ()
    at_least: int = 0
    at_most: int | None = None

    def __post_init__(self) -> None:
        if self.quantity < 1 or (self.per is not None and self.per < 1):
            raise ValueError(f"{self.code}: quantity and per are whole numbers from 1")
        if not self.source.strip():
            raise ValueError(f"{self.code}: numbers need a source, or 'common practice'")

    def applies(self, plan: PlanFacts) -> bool:
        return (
            self.clipped in (None, plan.clipped)
            and self.tall_trees in (None, plan.tall_trees)
            and (not self.crops or plan.crop.casefold() in self.crops)
            and self.at_least <= plan.present
            and (self.at_most is None or plan.present <= self.at_most)
        )

    def asked(self, present: int) -> int:
        shares = 1 if self.per is None else -(-present // self.per)
        return self.quantity * shares


@dataclass(frozen=True, slots=True)
class KitLine:
    """So many pieces of a kind, whether they must be held or should be, and why."""

    kind: str
    quantity: int
    need: Need
    why: str


def picker_kit(rules: Iterable[Rule], plan: PlanFacts) -> tuple[KitLine, ...]:
    """What each picker of the crew must hold for `plan`, in the order of the rules, one line a kind."""
    return _kit(rules, plan, "picker")


def crew_kit(rules: Iterable[Rule], plan: PlanFacts) -> tuple[KitLine, ...]:
    """What the crew holds together for `plan`, spares included; in the rules' order, one line a kind."""
    return _kit(rules, plan, "crew")


def missing(
    lines: Iterable[KitLine], held: Mapping[str, int], waived: Collection[str] = ()
) -> tuple[KitLine, ...]:
    """The lines still to give, each with the quantity that is short.

    `held` counts pieces by kind; two single gloves stand for a pair. `waived` names the kinds whose line a
    person has waived. Advised lines are listed too: `complete` tells whether what is short holds anyone back.
    """
    short = ((line, line.quantity - _held(line.kind, held)) for line in lines if line.kind not in waived)
    return tuple(replace(line, quantity=quantity) for line, quantity in short if quantity > 0)


def complete(lines: Iterable[KitLine], held: Mapping[str, int], waived: Collection[str] = ()) -> bool:
    """Whether everything required is held or waived. What is only advised never holds anyone back."""
    return all(line.need == "advised" for line in missing(lines, held, waived))


def _kit(rules: Iterable[Rule], plan: PlanFacts, holder: Holder) -> tuple[KitLine, ...]:
    lines: dict[str, KitLine] = {}
    for rule in rules:
        if rule.holder == holder and rule.applies(plan) and (quantity := rule.asked(plan.present)):
            line = KitLine(rule.kind, quantity, rule.need, rule.why)
            lines[rule.kind] = max(lines.get(rule.kind, line), line, key=_strictness)
    return tuple(lines.values())


def _strictness(line: KitLine) -> tuple[bool, int]:
    """Of two rules for one kind the required one counts, then the one that asks for more."""
    return line.need == "required", line.quantity


def _held(kind: str, held: Mapping[str, int]) -> int:
    singles = held.get(PAIRED[kind], 0) if kind in PAIRED else 0
    return held.get(kind, 0) + singles // 2
