"""What an item's fold, its crews' visits, its baths and the rules add up to: its clocks, faults, inspections, flags.

Times that lie in the past are overdue, those that lie ahead fall due if nothing further happens.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime, time, timedelta
from uuid import UUID

from equipment.domain import clock, faults
from equipment.domain.clock import Due, Visits
from equipment.domain.rules import CleaningRule, Rules
from equipment.domain.values import ItemState, OpenFault

# What is in a first-aid kit is past its date: looked at like an inspection that is due.
CONTENTS = "contents"


@dataclass(frozen=True, slots=True)
class Around:
    """What an item's condition depends on beside its own fold: the visits of the crews that had it, and why a cleaning
    of it (by entry) does not count."""

    visits: Visits = field(default_factory=dict)
    void: Mapping[UUID, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class CleaningDue(Due):
    """`holds`: while it is due the item stays here."""

    holds: bool = True


@dataclass(frozen=True, slots=True)
class InspectionDue:
    """`at` None: not due as things stand."""

    checklist: str
    at: datetime | None
    holds: bool
    last: datetime | None


@dataclass(frozen=True, slots=True)
class Condition:
    """`stopping` are the faults that keep the item here, `never` those among them that nobody may override, `mending`
    those to mend by a time, in order of finding; `flags` the diseases that it may still carry."""

    stopping: tuple[OpenFault, ...] = ()
    never: frozenset[str] = frozenset()
    mending: tuple[tuple[OpenFault, datetime], ...] = ()
    cleanings: tuple[CleaningDue, ...] = ()
    inspections: tuple[InspectionDue, ...] = ()
    flags: tuple[str, ...] = ()

    @property
    def due_at(self) -> datetime | None:
        """When the next cleaning falls due."""
        return min((due.at for due in self.cleanings if due.at is not None), default=None)

    @property
    def holds_at(self) -> datetime | None:
        """When the first of all that time brings (a cleaning, an inspection, a mend) keeps the item here."""
        times = [due.at for due in self.cleanings if due.holds]
        times += [due.at for due in self.inspections if due.holds]
        times += [at for _, at in self.mending]
        return min((at for at in times if at is not None), default=None)


def condition(state: ItemState, rules: Rules, around: Around) -> Condition:
    """The condition of an item that stands in the book; of one that is gone, nothing."""
    if state.place == "gone":
        return Condition()
    stopping = tuple(f for f in state.faults if rules.fault(f.fault).severity == "stop_use" or f.mended_at)
    by_rule = [rules.fault(fault.fault) for fault in stopping]
    return Condition(
        stopping=stopping,
        never=frozenset(rule.code for rule in by_rule if rule.structural or not rule.overridable),
        mending=tuple(_mending(state, rules)),
        cleanings=tuple(_cleanings(state, rules, around)),
        inspections=tuple(_inspections(state, rules)),
        flags=tuple(flag.disease for flag in state.flags if set(flag.cleared) <= set(around.void)),
    )


def _mending(state: ItemState, rules: Rules) -> list[tuple[OpenFault, datetime]]:
    found = []
    for fault in state.faults:
        rule = rules.fault(fault.fault)
        if rule.severity == "mend_by" and rule.within_days and not fault.mended_at:
            found.append((fault, fault.at + timedelta(days=rule.within_days)))
    return found


def _cleanings(state: ItemState, rules: Rules, around: Around) -> list[CleaningDue]:
    soiled = []
    if state.dirty_at is not None and _can_be(faults.DIRTY, state, rules):
        soiled.append(CleaningDue("wash", state.dirty_at, "dirty", None))
    if state.wet_at is not None and _can_be(faults.WET, state, rules):
        soiled.append(CleaningDue("dry", state.wet_at, "wet", None))
    ends = {"dirty", "flag"} | ({"wet"} if _can_be(faults.WET, state, rules) else set())
    by_rule = [
        _due(state, rule, around, ends)
        for rule in rules.cleaning.get(state.kind, ())
        if not any(due.method == rule.method for due in soiled)
    ]
    return [*by_rule, *soiled]


def _due(state: ItemState, rule: CleaningRule, around: Around, ends: set[str]) -> CleaningDue:
    due = clock.due(state, rule, around.visits, around.void.keys(), ends)
    return CleaningDue(due.method, due.at, due.cause, due.since, rule.holds)


def _can_be(fault: str, state: ItemState, rules: Rules) -> bool:
    return fault in rules.faults and rules.faults[fault].can_be_on(state.kind)


def _inspections(state: ItemState, rules: Rules) -> list[InspectionDue]:
    found = []
    for rule in rules.inspections.get(state.kind, ()):
        last = state.inspected.get(rule.checklist)
        if rule.every_days:
            at = last + timedelta(days=rule.every_days) if last else state.registered_at
        else:
            at = None if state.out or (last and state.since and last >= state.since) else state.since
        found.append(InspectionDue(rule.checklist, at, rule.holds, last))
    if state.expires_on is not None:
        over = datetime.combine(state.expires_on + timedelta(days=1), time.min, UTC)
        found.append(InspectionDue(CONTENTS, over, holds=True, last=None))
    return found
