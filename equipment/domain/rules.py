"""The rules in force at one moment: when a cleaning no longer holds, what each fault means, how often to inspect.

The catalogue gives the defaults, the farm sets its own (`equipment.models.rules`); here they are plain frozen values,
so that the gate, the clock and the baths ask nobody. Hours are hours, strengths ppm (mg per litre).
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

Severity = Literal["stop_use", "mend_by", "note"]
Method = Literal["sterilise", "wash", "dry"]


@dataclass(frozen=True, slots=True)
class FaultRule:
    """`kinds` is empty for every kind; `within_days` belongs to mend_by; `makes_due` is the cleaning that ends it."""

    code: str
    kinds: tuple[str, ...] = ()
    severity: Severity = "stop_use"
    within_days: int | None = None
    structural: bool = False
    released_by: Literal["mender", "second", "officer"] = "mender"
    overridable: bool = True
    makes_due: Literal["", "wash", "dry"] = ""

    def can_be_on(self, kind: str) -> bool:
        return not self.kinds or kind in self.kinds


@dataclass(frozen=True, slots=True)
class CleaningRule:
    """A cleaning of `kind` holds until the first of these; None where hours do not matter. `holds`: the item stays
    here while it is due, else it is only said."""

    kind: str
    method: Method
    hours_in_use: float | None = None
    shelf_hours: float | None = None
    other_block: bool = False
    other_picker: bool = False
    holds: bool = True


@dataclass(frozen=True, slots=True)
class InspectionRule:
    """`checklist` is answered every so many days; 0: since the item last came back, before it goes out again."""

    checklist: str
    kind: str
    every_days: int
    holds: bool = True


@dataclass(frozen=True, slots=True)
class RecipeRule:
    """A bath, or a wash. `target_ppm` None where strength is not measured, `life_minutes` None where it does not
    age; a strength test outside `test_low_ppm` to `test_high_ppm` fails."""

    code: str
    agent: str
    method: Literal["sterilise", "wash"]
    kinds: tuple[str, ...]
    target_ppm: int | None = None
    contact_seconds: int | None = None
    life_minutes: int | None = None
    items_per_litre: int | None = None
    test_low_ppm: int | None = None
    test_high_ppm: int | None = None
    ready_to_use: bool = False
    ph_low: float | None = None
    ph_high: float | None = None


@dataclass(frozen=True, slots=True)
class Clears:
    """What ends a disease flag: `agent` at a strength for a time, or any cleaning by `method`."""

    agent: str | None = None
    method: str | None = None
    at_least_ppm: int | None = None
    at_least_seconds: int | None = None


@dataclass(frozen=True, slots=True)
class Rules:
    """All rules at one moment. `cleaning` and `inspections` are by kind. Empty, they forbid nothing."""

    version: int = 0
    faults: Mapping[str, FaultRule] = field(default_factory=dict)
    cleaning: Mapping[str, tuple[CleaningRule, ...]] = field(default_factory=dict)
    inspections: Mapping[str, tuple[InspectionRule, ...]] = field(default_factory=dict)
    recipes: Mapping[str, RecipeRule] = field(default_factory=dict)
    clears: Mapping[str, tuple[Clears, ...]] = field(default_factory=dict)

    def fault(self, code: str) -> FaultRule:
        """The rule of a fault; one that is not known (any more) stops the use of the item."""
        return self.faults.get(code) or FaultRule(code)


NO_RULES = Rules()
