"""How many spares a crew loads for the day: the one place where that is decided.

By the book's own swaps where there are enough of a kind, as many as last with the level that the farm set
(`equipment.domain.spares`); else what the kit rules ask for. Every page, the paper and the API read what this gives.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from typing import Any
from uuid import UUID

from django.db import connection
from django.utils import timezone

from equipment.domain.figures import Rate, carry, prior
from equipment.domain.jobs import Gear
from equipment.models.book import Entry
from equipment.models.figures import Use, use_by_crew
from equipment.models.figures.chosen import chosen, stopping

RECENT = timedelta(days=28)
ENOUGH = 5
"""Swaps of a kind; where the book knows of fewer, the kit rules stand."""
Known = Mapping[tuple[str, str], Mapping[Gear, int]]
"""By crew and kind: the spares of each sort."""


def by_book(at: datetime, version: int) -> Known:
    """By the book up to the last midnight before `at`, `version` being that of the rules. One query; where something
    was handed out since the last time, four more, one of which reads the whole book: once a day."""
    midnight = timezone.make_aware(datetime.combine(timezone.localdate(at), time.min))
    handed = Entry.objects.filter(verb__in=("handed_out", "reversed"), happened_at__lt=midnight)
    last = handed.order_by("-happened_at", "-id").values_list("id", flat=True).first()
    if last is None:
        return {}
    key = (str(connection.settings_dict["NAME"]), last, version)
    found = _kept.get(key)
    if found is None:
        found = _worked_out(midnight)
        _kept.clear()
        _kept[key] = found
    return found


_kept: dict[tuple[str, UUID, int], Known] = {}


def _worked_out(at: datetime) -> Known:
    return from_use(use_by_crew(at, at - RECENT, stopping(at)), chosen(at).level)


def from_use(used: Iterable[Use], level: float) -> Known:
    """For a day like those of the last weeks on which the crew had such gear out. A sort of which little is known goes
    by the rest of its kind."""
    used = list(used)
    kinds, sorts = _rates(used, lambda each: each.kind), _rates(used, lambda each: _gear(each))
    found: dict[tuple[str, str], dict[Gear, int]] = {}
    for each in used:
        whole, own = kinds[each.kind], sorts[_gear(each)]
        if whole.seen >= ENOUGH and each.recent_days and each.recent_hours:
            before = prior(Rate(whole.seen - own.seen, whole.hours - own.hours))
            ahead = carry(own, before, each.recent_hours / each.recent_days, level)
            found.setdefault((each.crew, each.kind), {})[_gear(each)] = ahead.spares
    return found


def _gear(each: Use) -> Gear:
    return Gear(each.kind, each.size, each.hand)


def _rates(used: Iterable[Use], by: Any) -> dict[Any, Rate]:
    found: dict[Any, Rate] = {}
    for each in used:
        known = found.get(by(each), Rate(0, 0.0))
        found[by(each)] = Rate(known.seen + each.swaps, known.hours + each.hours)
    return found


@dataclass(frozen=True, slots=True)
class Spares:
    """Of one kind for one crew: how many of each sort; `by_book` says what they go by."""

    sorts: Mapping[Gear, int]
    by_book: bool


def spares_to_load(crew: str, kind: str, known: Known, by_rule: Mapping[Gear, int]) -> Spares:
    """`by_rule` is what the kit rules ask for, in the sizes and hands of the crew."""
    worked_out = known.get((crew, kind))
    return Spares(by_rule, False) if worked_out is None else Spares(worked_out, True)
