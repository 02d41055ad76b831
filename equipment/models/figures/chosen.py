"""What the farm set for its figures, and which faults stop the use."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from equipment.catalogue.rules import settled
from equipment.catalogue.shapes import Foresight
from equipment.domain.makes import Costs
from equipment.models import rules
from equipment.models.rules import Rule, subjects_known, whole

UNKNOWN = Costs(0, 0)


@dataclass(frozen=True, slots=True)
class Chosen:
    """`level` is a fraction: how sure not to run short. `hour_cost` 0: nobody said what an hour costs."""

    level: float = 0.95
    weeks: int = 4
    hour_cost: int = 0
    by_kind: Mapping[str, Costs] = field(default_factory=dict)

    def costs(self, kind: str) -> Costs:
        return self.by_kind.get(kind, UNKNOWN)


def chosen(at: datetime) -> Chosen:
    """By the rules in force at `at`; the catalogue's where there are none. One query."""
    known = {subject: row for subject, row in subjects_known().items() if isinstance(row, Foresight)}
    rows = Rule.objects.filter(subject__in=known, from_at__lte=at).order_by("from_at", "id")
    values = dict(rows.values_list("subject", "values"))
    set_of = {row.kind: settled(row, values.get(subject, {})) for subject, row in known.items()}
    farm = set_of.pop(None)
    by_kind = {kind or "": Costs(each["planned_cost"], each["failure_cost"]) for kind, each in set_of.items()}
    return Chosen(farm["level_pct"] / 100, farm["weeks"], farm["hour_cost"], by_kind)


def stopping(at: datetime) -> list[str]:
    """The codes of the faults that stop the use by the rules in force, without dirt and wet, which are cleaned off."""
    now = rules.rules_at(at)
    return [
        fault.code
        for fault in whole().fault
        if not fault.makes_due and now.fault(fault.code).severity == "stop_use"
    ]
