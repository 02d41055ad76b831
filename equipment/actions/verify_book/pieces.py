"""The book in the order in which it is verified, in pieces that can each be looked at by itself."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any

from equipment.actions.verify_book import chains, gear, notes, states
from equipment.actions.verify_book.findings import Looked
from equipment.models import histories
from equipment.models.histories import Family


@dataclass(frozen=True, slots=True)
class Piece:
    """`stage` and `place` (of JSON) say where it ends."""

    stage: str
    place: Any
    look: Callable[[], Looked]


def pieces(stage: str = "", place: Any = None) -> Iterator[Piece]:
    """All of them, or those after the one that ends there."""
    names = list(_STAGES)
    for name in names[names.index(stage) if stage else 0 :]:
        yield from _STAGES[name](place if name == stage else None)


def _seals(place: Any) -> Iterator[Piece]:
    for each in chains.stretches(*(place or ())):
        yield Piece("seals", [each.store, each.last], each.look)


def _notes(place: Any) -> Iterator[Piece]:
    if place is None:
        yield Piece("notes", "", lambda: Looked(findings=list(notes.notes_too_many())))


def _states(family: Family, place: Any) -> Iterator[Piece]:
    for part in histories.parts(family, after=place):
        yield Piece(family, str(part.keys[-1]), partial(states.look, part))


def _gear(place: Any) -> Iterator[Piece]:
    for keys in gear.gear(place):
        yield Piece("gear", str(keys[-1]), partial(_of_gear, keys))


def _of_gear(keys: list[Any]) -> Looked:
    return Looked(findings=list(gear.look(keys)))


_STAGES: Mapping[str, Callable[[Any], Iterator[Piece]]] = {
    "seals": _seals,
    "notes": _notes,
    **{family: partial(_states, family) for family in histories.FAMILIES},
    "gear": _gear,
}
