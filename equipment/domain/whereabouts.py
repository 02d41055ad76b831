"""Where a piece was, as the disease trace asks: who had it when, the blocks that this took it to, and its cleanings.

It reads a part of a life: from a hand-out that lies far enough back. Meanings are those of the verbs' own steps.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from operator import attrgetter
from typing import Any, NamedTuple

from equipment.domain.faults import DIRTY
from equipment.domain.fold import ordered, reversals
from equipment.domain.values import Entry, ItemState, Visit
from equipment.domain.verbs.cleaned import fails
from equipment.domain.visits import LONGEST_UNTOLD

A_VISIT = 2 * LONGEST_UNTOLD
"""Longer than any visit."""
_begins = attrgetter("at")
ENDING = frozenset({"returned", "moved", "missed", "written_off"})
TOLD = ("handed_out", "returned", "stowed", "moved", "missed", "found", "written_off", "fault_found")
"""The verbs to read, beside `cleaned`, `reversed`, and those `inspected` that found something wrong."""


class Holding(NamedTuple):
    """Somebody had the piece from `at` until `until` (None: still): a picker who was then of `crew`, or the crew itself
    for its shared gear and spares. Left in the orchard overnight it has the `block` where it stood."""

    at: datetime
    until: datetime | None
    crew: str | None
    picker: int | None = None
    block: str | None = None


class Stay(NamedTuple):
    """The piece is in `block` from `at` until `until` (None: still), with `crew`; `stowed`: overnight, with nobody."""

    block: str
    at: datetime
    until: datetime | None
    crew: str | None = None
    stowed: bool = False


Moves = Mapping[int, Sequence[tuple[datetime, str | None]]]
"""Picker -> since when they were in which crew (None: in none), in order of time."""


def counting(entries: Iterable[Entry]) -> list[Entry]:
    """The entries of one piece in the book's order, without what was taken back."""
    in_order = [entry for _, entry in ordered(entries)]
    undone = reversals(in_order)
    return [entry for entry in in_order if entry.verb != "reversed" and entry.id not in undone]


def holdings(entries: Iterable[Entry]) -> list[Holding]:
    """Who had the piece, from its `counting` entries."""
    found: list[Holding] = []
    missing = False
    for entry in entries:
        now = _begun(entry, found, missing)
        if now is None and entry.verb not in ENDING and not (entry.verb == "found" and missing):
            continue
        missing = entry.verb == "missed" or (missing and entry.verb == "written_off")
        if found and found[-1].until is None:
            found[-1] = found[-1]._replace(until=max(entry.happened_at, found[-1].at))
        if now is not None:
            found.append(now)
    return found


def _begun(entry: Entry, before: Sequence[Holding], missing: bool) -> Holding | None:
    """The holding that begins with this entry; after a clock set back never before the last one ended."""
    ended = (before[-1].until or before[-1].at) if before else entry.happened_at
    at = max(entry.happened_at, ended)
    if entry.verb == "handed_out":
        return Holding(at, None, entry.crew, entry.picker)
    if entry.verb == "stowed":
        return Holding(at, None, entry.crew, block=entry.block or entry.detail["block"])
    if entry.verb == "found" and missing and entry.crew:
        return Holding(at, None, entry.crew)
    return None


def killings(entries: Iterable[Entry], disease: str, void: Container[Any] = ()) -> list[datetime]:
    """When cleanings killed `disease`, from the piece's `counting` entries: with what kills it, long enough, on a piece
    that was washed first, and not `void` (entries of dips) by their bath."""
    state = ItemState()
    found = []
    for entry in entries:
        if entry.verb == "cleaned" and not fails(state, entry):
            if disease in entry.detail.get("kills", ()) and entry.id not in void:
                found.append(entry.happened_at)
            if entry.detail["method"] == "wash":
                state = replace(state, dirty_at=None)
        elif _found_dirty(entry):
            state = replace(state, dirty_at=entry.happened_at)
    return found


def _found_dirty(entry: Entry) -> bool:
    failed = entry.detail.get("failed") or {}
    return entry.detail.get("fault") == DIRTY or DIRTY in failed.values()


def stays(held: Iterable[Holding], visits: Mapping[str, Sequence[Visit]], moves: Moves) -> Iterator[Stay]:
    """The blocks that the piece was in, and when: while the crew of whoever had it was there on a visit, and where it
    stood overnight. `visits` of each crew are in order of time."""
    for holding in held:
        if holding.block is not None:
            yield Stay(holding.block, holding.at, holding.until, holding.crew, stowed=True)
            continue
        for part in _in_crews(holding, moves):
            yield from _on_visits(part, visits.get(part.crew or "", ()))


def _in_crews(holding: Holding, moves: Moves) -> Iterator[Holding]:
    """The holding cut where its picker went to another crew: lent at noon, the gear went along."""
    part = holding
    for at, crew in moves.get(holding.picker or 0, ()):
        if at <= holding.at or (holding.until is not None and at >= holding.until):
            continue
        yield part._replace(until=at)
        part = part._replace(at=at, crew=crew)
    yield part


def _on_visits(part: Holding, visits: Sequence[Visit]) -> Iterator[Stay]:
    """A visit that nobody ended lasts no longer than a day's work, and ends when the piece leaves the crew's hands."""
    first = bisect_left(visits, part.at - A_VISIT, key=_begins)
    begun = bisect_right(visits, part.until, key=_begins) if part.until else len(visits)
    for visit in visits[first:begun]:
        over = visit.until or visit.at + LONGEST_UNTOLD
        at, until = max(visit.at, part.at), over if part.until is None else min(over, part.until)
        if at <= until:
            yield Stay(visit.block, at, until, part.crew)
