"""A block that turns out to be ill: what worked there at dusk on the last day, and what met that in the next block.

A crew goes out again after the day is done: with some pairs into the ill block, then with some more into another one.
One pair was handed out and came back before. The laboratory's answer comes later, and is not in the book.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from random import Random
from typing import Any

from django.utils import timezone

from equipment.actions.simulate.farm import Farm, Piece, Team
from equipment.actions.simulate.scribe import Scribe
from equipment.models import ItemState, Visit


@dataclass(frozen=True, slots=True)
class Ill:
    """`pieces` of `kind` work in the first of `blocks` that nobody else was in that day; as many meet them in the next
    such one."""

    kind: str
    pieces: int
    blocks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Planted:
    """The ill block, the one that it came to, and the tags: those that worked there, those that were reached in the
    next block, and those that were back before."""

    block: str
    since: datetime
    then: str
    worked: tuple[str, ...]
    met: tuple[str, ...]
    before: tuple[str, ...]


def plant(farm: Farm, scribe: Scribe, ill: Ill, day: date, seed: int) -> Planted | None:
    """Play it in the evening of `day`, the last one; None where there is no room for it. Its chances are its own, so
    that the season stays what it is without it."""
    random = Random(seed)  # noqa: S311 nothing secret
    evening = _Evening(farm, replace(scribe, random=random, written=0, _lines=[]), day)
    visited = set(Visit.objects.filter(at__gte=evening.at("00:00")).values_list("block", flat=True))
    known = {block.pk for block in farm.blocks}
    blocks = [block for block in ill.blocks if block in known - visited]
    for store in farm.stores:
        teams = [team for team in farm.teams if team.crew.store_id == store and _has_none(team, ill.kind)]
        pieces = _fit(farm, store, ill.kind, evening.at("18:12"))
        if len(blocks) >= 2 and teams and len(pieces) > 2 * ill.pieces:
            chosen = random.sample(pieces, 2 * ill.pieces + 1)
            return evening.play(teams[0], blocks[:2], chosen)
    return None


def _has_none(team: Team, kind: str) -> bool:
    """Nobody of the crew has such a piece still: what was left behind would be reached as well."""
    return not any([team.held[kind], *(person.held[kind] for person in team.people)])


def _fit(farm: Farm, store: str, kind: str, at: datetime) -> list[Piece]:
    """Those that nobody usually carries first of all."""
    fit = set(
        ItemState.objects.fit_at(at).filter(store=store, item__kind=kind).values_list("item", flat=True)
    )
    free = [piece for piece in farm.free(store, kind) if piece.id in fit]
    unclaimed = [piece for piece in free if piece.usual is None]
    return unclaimed if len(unclaimed) > len(free) // 2 else free


@dataclass(slots=True)
class _Evening:
    farm: Farm
    scribe: Scribe
    day: date

    def at(self, clock: str, seconds: int = 0) -> datetime:
        local = datetime.combine(self.day, time.fromisoformat(clock))
        return timezone.make_aware(local) + timedelta(seconds=seconds)

    def play(self, team: Team, blocks: Sequence[str], pieces: Sequence[Piece]) -> Planted:
        count = len(pieces) // 2
        worked, met, before = pieces[:count], pieces[count:-1], pieces[-1:]
        self._out("18:12", team, [*worked, *before])
        self._back("18:16", team, before)
        self._visit(team, blocks[0], "18:20", "18:33")
        self._out("18:36", team, met)
        self._visit(team, blocks[1], "18:40", "18:55")
        self._back("19:00", team, [*worked, *met])
        self.scribe.record()
        told = [tuple(sorted(piece.tag for piece in some)) for some in (worked, met, before)]
        return Planted(blocks[0], self.at("18:20"), blocks[1], *told)

    def _out(self, clock: str, team: Team, pieces: Sequence[Piece]) -> None:
        for number, piece in enumerate(pieces):
            self._line(self.at(clock, 3 * number), team, "handed_out", item=piece.id)

    def _back(self, clock: str, team: Team, pieces: Sequence[Piece]) -> None:
        for number, piece in enumerate(pieces):
            self._line(self.at(clock, 3 * number), team, "returned", item=piece.id)

    def _visit(self, team: Team, block: str, clock: str, until: str) -> None:
        by = team.crew.supervisor
        self._line(self.at(clock), team, "arrived", by=by, block=block, detail={"block": block})
        self._line(self.at(until), team, "left", by=by)

    def _line(self, at: datetime, team: Team, verb: str, **fields: Any) -> None:
        self.scribe.line(at, team.crew.store_id, verb, crew=team.code, **fields)
