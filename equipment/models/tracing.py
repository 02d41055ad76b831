"""What the disease trace asks of the book: indexed look-ups about what was just reached, never a read of the whole.

Each question names blocks, crews or pieces and a time to begin at, so that its work grows with what is affected. The
conditions are written as the partial indexes have them (`models/book.py`), so that SQLite uses those.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any, TypeVar
from uuid import UUID

from equipment.domain import bath
from equipment.domain.disease_trace import Whereabouts
from equipment.domain.values import BathState, Entry, Visit
from equipment.domain.visits import LONGEST_UNTOLD
from equipment.domain.whereabouts import A_VISIT, Holding, Moves, counting, holdings, killings, stays
from equipment.models import tracing_sql as sql
from equipment.models.projections import folded_bath
from equipment.models.states import BathState as BathRow

LOOK_BACK = timedelta(days=35)
"""How long before a visit a piece may have been handed out, where nothing later tells that it was still with the crew:
neither its return nor that it is there now."""
AT_ONCE = 2_000
Span = TypeVar("Span", Holding, Visit)


@dataclass
class TracedBook:
    """`disease_trace.Book` for the carriers (`kinds`) of one disease, from `since` to `until` (UTC)."""

    disease: str
    kinds: Collection[str]
    since: datetime
    until: datetime
    _asked: dict[str, tuple[datetime, datetime]] = field(default_factory=dict)

    def carriers_in(self, blocks: Mapping[str, datetime]) -> set[UUID]:
        """Those that may have been there: all that a visiting crew had about that time, and what stood there overnight.
        Where the pieces really were, `whereabouts` tells. Two queries for each hundred blocks, one for sixty crews."""
        if not self.kinds:
            return set()
        found: set[UUID] = set()
        windows = self._windows(blocks)
        for some in sql.batched(sorted(windows.items()), sql.CREWS_AT_ONCE):
            found |= sql.gear_with(some, self.kinds, LOOK_BACK, self.until)
        for some_blocks in sql.batched(sorted(blocks.items()), sql.BLOCKS_AT_ONCE):
            found |= sql.stood_in(some_blocks, self.kinds, LOOK_BACK)
        return found

    def _windows(self, blocks: Mapping[str, datetime]) -> dict[str, tuple[datetime, datetime]]:
        """Crew -> from its first to its last visit to one of these blocks, but for what was asked already."""
        found: dict[str, tuple[datetime, datetime]] = {}
        for some in sql.batched(sorted(blocks.items()), sql.BLOCKS_AT_ONCE):
            for crew, at, until in sql.visits_to(some, LONGEST_UNTOLD):
                if at <= self.until:
                    until = until or at + LONGEST_UNTOLD
                    first, last = found.get(crew, (at, until))
                    found[crew] = min(first, at), max(last, until)
        return dict(self._not_asked(found))

    def _not_asked(self, windows: Mapping[str, tuple[datetime, datetime]]) -> Iterator[sql.Window]:
        """Those that lie not within what was asked of the crew before, with that made one: nothing between is left
        out."""
        for crew, (first, last) in windows.items():
            known = self._asked.get(crew, (first, last))
            if crew in self._asked and known[0] <= first and last <= known[1]:
                continue
            self._asked[crew] = min(known[0], first), max(known[1], last)
            yield crew, self._asked[crew]

    def whereabouts(self, pieces: Collection[UUID]) -> dict[UUID, Whereabouts]:
        """At most seven queries for each two thousand pieces."""
        found: dict[UUID, Whereabouts] = {}
        for some in sql.batched(pieces, AT_ONCE):
            found |= self._of(some)
        return found

    def _of(self, pieces: Collection[UUID]) -> dict[UUID, Whereabouts]:
        lives = {piece: counting(told) for piece, told in sql.lives(pieces, self.since, self.disease)}
        held = {piece: self._since(holdings(told)) for piece, told in lives.items()}
        all_held = [holding for each in held.values() for holding in each]
        moves = _moves(all_held)
        crews = {holding.crew for holding in all_held if holding.crew}
        crews |= {crew for turns in moves.values() for _, crew in turns if crew}
        visits = self._visits(crews)
        void = _void(lives.values(), self.disease)
        return {
            piece: Whereabouts(
                tuple(stays(held[piece], visits, moves)),
                tuple(at for at in killings(told, self.disease, void) if at >= self.since),
            )
            for piece, told in lives.items()
        }

    def _since(self, spans: Iterable[Span]) -> list[Span]:
        """Those that were not over when the trace begins."""
        since = self.since
        return [span for span in spans if span.until is None or span.until >= since]

    def _visits(self, crews: Collection[str]) -> dict[str, list[Visit]]:
        found: dict[str, list[Visit]] = defaultdict(list)
        for crew, visit in sql.visits_of(sorted(crews), self.since - A_VISIT):
            if visit.at <= self.until:
                found[crew].append(visit)
        return {crew: self._since(visits) for crew, visits in found.items()}


def _moves(held: Iterable[Any]) -> Moves:
    """The changes of crew of those who had something, while they had it. One query, or none."""
    first: dict[int, datetime] = {}
    for holding in held:
        if holding.picker is not None:
            first[holding.picker] = min(holding.at, first.get(holding.picker, holding.at))
    found: dict[int, list[tuple[datetime, str | None]]] = defaultdict(list)
    now_in: dict[int, str] = {}
    for picker, at, verb, crew in sql.moves(first) if first else ():
        if verb == "joined":
            now_in[picker] = crew
            found[picker].append((at, crew))
        elif now_in.get(picker, crew) == crew:
            found[picker].append((at, None))
    return found


def _void(lives: Iterable[Iterable[Entry]], disease: str) -> set[UUID]:
    """Dips that would kill it, but whose bath was not as it should be. Three queries, or none."""
    dips = {
        entry.id: entry.bath
        for told in lives
        for entry in told
        if entry.bath is not None and disease in entry.detail.get("kills", ())
    }
    if not dips:
        return set()
    baths = set(dips.values())
    states = {row.pk: folded_bath(row).state for row in BathRow.objects.filter(bath__in=baths)}
    return {
        entry
        for own, nth, at, entry in sql.nth_dips(baths, dips)
        if bath.against_dip(states.get(own, BathState()), at, nth)
    }
