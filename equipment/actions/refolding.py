"""Subjects folded anew from all their entries, many at a time: for rebuilding the states and for verifying them."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from equipment.domain.fold import Folded, fold
from equipment.domain.verbs import STEPS
from equipment.models import histories, projections
from equipment.models.histories import Part

Say = Callable[[int, int], None]
"""Told how many entries are done, and of how many: `say(20_000, 1_000_000)`."""

# What a fold or a row stumbles over where somebody wrote in the database by other means: no detail, no such verb.
STUMBLES = (ValueError, TypeError, LookupError, AttributeError)


def unheard(done: int, total: int) -> None:
    """For those who do not want to be told."""


@dataclass(frozen=True, slots=True)
class Refolded:
    """`folds` by subject, of those that have entries; `broken` are the subjects whose entries make no sense."""

    folds: dict[Any, Folded[Any]] = field(default_factory=dict)
    broken: list[Any] = field(default_factory=list)


def refolded(part: Part) -> Refolded:
    """The folds of all subjects of `part`, as its entries stand now."""
    found = Refolded()
    start: Any = projections.NEW[part.family].state
    for key, entries in histories.lives(part.family, part.keys):
        try:
            found.folds[key] = fold(entries(), start, STEPS)
        except STUMBLES:
            found.broken.append(key)
    return found
