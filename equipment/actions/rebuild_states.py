"""All states again from the entries, for when a projection was lost, damaged, or made by an older fold.

Part by part, each in a transaction of its own with its subjects locked, so counters go on working beside it, and one
that is stopped half-way has done no harm: it is simply run again.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import reduce
from itertools import chain
from operator import or_
from typing import Any

from django.db import connection
from django.db.models import Q
from django.utils import timezone

from equipment.actions.refolding import Say, one_by_one, refolded, unheard
from equipment.ledger import lock_crews, writing
from equipment.models import (
    BathState,
    CrewState,
    Discrepancy,
    ItemState,
    LotState,
    Membership,
    Visit,
    histories,
    projections,
    rules,
)
from equipment.models.histories import Part

_STATES: dict[str, Any] = {"item": ItemState, "crew": CrewState, "bath": BathState, "lot": LotState}
_SAVE: dict[str, Any] = {
    "crew": projections.save_crews,
    "bath": projections.save_baths,
    "lot": projections.save_lots,
}


@dataclass(slots=True)
class Rebuilt:
    """How much was folded, how many rows of subjects without entries were taken away, and the subjects (item ids,
    crew codes) that could not be folded: their states stay as they were until the book is verified."""

    entries: int = 0
    items: int = 0
    crews: int = 0
    baths: int = 0
    lots: int = 0
    removed: int = 0
    broken: list[Any] = field(default_factory=list)


def rebuild_states(say: Say = unheard, rows: int = histories.ROWS_AT_ONCE) -> Rebuilt:
    """Make every state anew, about `rows` entries at a time. Running it again changes nothing."""
    done = Rebuilt()
    parts = list(chain.from_iterable(histories.parts(family, rows) for family in histories.FAMILIES))
    with writing():
        _remove_discrepancies_of_nobody()
    for part in one_by_one(parts, say):
        with writing():
            _rebuild(part, done)
    return done


def _rebuild(part: Part, done: Rebuilt) -> None:
    _lock(part)
    found = refolded(part)
    if part.family == "item":
        projections.save_items(
            found.folds, projections.surroundings(found.folds.values(), rules.rules_at(timezone.now()))
        )
    else:
        _SAVE[part.family](found.folds)
    _list_discrepancies(part, found.folds)
    done.removed += _remove_idle(part)
    done.entries += part.entries
    done.broken += found.broken
    name = {"item": "items", "crew": "crews", "bath": "baths", "lot": "lots"}[part.family]
    setattr(done, name, getattr(done, name) + len(found.folds))


def _remove_discrepancies_of_nobody() -> None:
    """A row that names no subject, or several."""
    subjects = ("item", "crew", "bath", "lot")
    named = [Q(**{f"{each}__isnull": each != own for each in subjects}) for own in subjects]
    Discrepancy.objects.exclude(reduce(or_, named)).delete()


def _lock(part: Part) -> None:
    """Keep other writers off these subjects until the part is done; a row that is lost is put there to be locked."""
    states, wanted = _STATES[part.family], [key for key in part.keys if key not in part.idle]
    rows = states.objects.filter(pk__in=part.keys).order_by("pk")
    if part.family == "crew":
        lock_crews(part.keys)
    elif connection.features.has_select_for_update:
        rows = rows.select_for_update()
    if lost := set(wanted) - set(rows.values_list("pk", flat=True)):
        states.objects.bulk_create([states(pk=key) for key in sorted(lost)], ignore_conflicts=True)


def _list_discrepancies(part: Part, folds: dict[Any, Any]) -> None:
    """Anew for the whole part; a row that is wrongly listed under another subject makes way."""
    Discrepancy.objects.filter(**{f"{part.family}__in": part.keys}).delete()
    contested = {key: folded for key, folded in folds.items() if folded.state.discrepancies}
    entries = [found.entry for folded in contested.values() for found in folded.state.discrepancies]
    Discrepancy.objects.filter(entry_id__in=entries).delete()
    projections.save_discrepancies(part.family, contested)


def _remove_idle(part: Part) -> int:
    idle: Sequence[Any] = list(part.idle)
    removed = 0
    if part.family == "crew":
        removed, _ = Membership.objects.filter(crew__in=idle).delete()
        removed += Visit.objects.filter(crew__in=idle).delete()[0]
    return removed + _STATES[part.family].objects.filter(pk__in=idle).delete()[0]
