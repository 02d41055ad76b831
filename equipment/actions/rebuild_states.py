"""All states again from the entries, for when a projection was lost, damaged, or made by an older fold.

Part by part, each in a transaction of its own with its subjects locked, so counters go on working beside it, and one
that is stopped half-way has done no harm: it is run again, from the start or from where it was. What was done before
the stop need not be done again: since then every entry has brought its own states forward.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from functools import reduce
from operator import or_
from typing import Any

from django.db import connection
from django.db.models import Q
from django.utils import timezone

from equipment.actions.going_on import Mark
from equipment.actions.refolding import Say, refolded, unheard
from equipment.ledger import lock_crews, writing
from equipment.models import (
    BathState,
    CrewState,
    Discrepancy,
    Entry,
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


@dataclass(slots=True)
class Run:
    """A rebuilding as far as it is: up to and with the subject `last` of `family`."""

    family: str = ""
    last: str = ""
    done: Rebuilt = field(default_factory=Rebuilt)

    def plain(self) -> dict[str, Any]:
        """As JSON; `read` is its other way."""
        done = {**asdict(self.done), "broken": [str(each) for each in self.done.broken]}
        return {"family": self.family, "last": self.last, "done": done}

    @classmethod
    def read(cls, kept: Mapping[str, Any]) -> "Run":
        return cls(kept["family"], kept["last"], Rebuilt(**kept["done"]))


def rebuild_states(
    say: Say = unheard,
    rows: int = histories.ROWS_AT_ONCE,
    mark: Mark | None = None,
    *,
    resume: bool = False,
) -> Rebuilt:
    """Make every state anew, about `rows` entries at a time. Running it again changes nothing. How far it is, is kept
    at `mark`; with `resume` it goes on from there, where there is anything fresh."""
    run = (so_far(mark) if resume and mark else None) or Run()
    total = Entry.objects.count()
    with writing():
        _remove_discrepancies_of_nobody()
    for part in _parts(run, rows):
        with writing():
            _rebuild(part, run.done)
        run.family, run.last = part.family, str(part.keys[-1])
        if mark:
            mark.keep(timezone.now(), run.plain)
        say(min(run.done.entries, total), total)
    if mark:
        mark.clear()
    return run.done


def so_far(mark: Mark) -> Run | None:
    """The run that was stopped."""
    kept = mark.found(timezone.now())
    return Run.read(kept) if kept else None


def _parts(run: Run, rows: int) -> Iterator[Part]:
    """In order, those after what `run` has done."""
    families = histories.FAMILIES
    for family in families[[*families].index(run.family) if run.family else 0 :]:  # type: ignore[arg-type]
        yield from histories.parts(family, rows, run.last if family == run.family else None)


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
