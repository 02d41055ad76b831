"""The faults that a kind of gear can have, in the order in which a finder is asked for them."""

from functools import cache

from equipment.catalogue.shapes import FaultType
from equipment.domain import fault_tags
from equipment.models import rules

# What is asked first of those that any kind can have: dirt and wet are found every day.
DAILY = ("dirty", "wet")


@cache
def faults_of(kind: str) -> tuple[FaultType, ...]:
    """Those of the kind itself, then dirt and wet, then what can be wrong with anything; only those with a tag."""
    found = [
        fault
        for fault in rules.whole().fault
        if fault.can_be_on(kind) and fault.code in fault_tags.FAULT_TAGS
    ]
    return tuple(sorted(found, key=_place))


def _place(fault: FaultType) -> int:
    if fault.code in DAILY:
        return 1
    return 0 if fault.kinds else 2
