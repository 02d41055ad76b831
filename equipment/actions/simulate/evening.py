"""Knock-off: everyone gives back what they hold, in any order, but for what was left behind."""

from collections.abc import Mapping
from datetime import datetime

from equipment.actions.simulate.chances import BROUGHT_LATER, FORGOTTEN
from equipment.actions.simulate.day import Day
from equipment.actions.simulate.farm import Piece, Team
from equipment.actions.simulate.scribe import COUNTERS

_PIECES_EACH = 3
GETS_WET = ("bag", "gloves")
STOWED = 4
"""Ladders that a crew leaves in the orchard when it goes on there in the morning."""


def evening(day: Day, sent_home: Mapping[str, str]) -> None:
    for store in day.farm.stores:
        clocks = [day.at(day.work_ends) + day.a_while(600, 900) for _counter in range(COUNTERS)]
        early = day.at("11:25") + day.a_while(0, 120)
        teams = [team for team in day.farm.teams if team.crew.store_id == store]
        for number, team in enumerate(teams):
            counter = number % COUNTERS
            if why := sent_home.get(team.code):
                _take_in(day, team, counter, early, wet=why == "rain")
            else:
                clocks[counter] = _take_in(day, team, counter, clocks[counter])


def _take_in(day: Day, team: Team, counter: int, clock: datetime, *, wet: bool = False) -> datetime:
    people = [person for person in team.people if person.held]
    day.random.shuffle(people)
    for person in people:
        pieces = [piece for piece in person.pieces() if _comes_back(day, piece)]
        clock += day.a_while(2, 8) if pieces else day.a_while(0, 0)
        for piece in pieces:
            clock += day.a_while(1, 3)
            if not _left_behind(day, piece):
                _return(day, piece, counter, clock, wet=wet)
    stowed = _stow(day, team, clock)
    for piece in [piece for piece in team.pieces() if _comes_back(day, piece) and piece not in stowed]:
        clock += day.a_while(1, 4)
        _return(day, piece, counter, clock, wet=False)
    return _fetch(day, team, counter, clock)


def _comes_back(day: Day, piece: Piece) -> bool:
    return day.farm.kinds[piece.kind].comes_back == "tonight"


def _return(day: Day, piece: Piece, counter: int, clock: datetime, *, wet: bool) -> None:
    piece.wet = piece.wet or (wet and piece.kind in GETS_WET)
    detail = {"wet": True} if wet and piece.kind in GETS_WET else {}
    day.take_back(clock, piece, piece.store, counter=counter, detail=detail)


def _left_behind(day: Day, piece: Piece) -> bool:
    """Whether the piece stays out tonight. What is out from an earlier day comes back sooner or later."""
    if piece.since < day.number:
        return day.random.random() >= BROUGHT_LATER
    return (
        day.comes("left_behind", among=_PIECES_EACH * len(day.farm.people()))
        or day.random.random() < FORGOTTEN
    )


def _stow(day: Day, team: Team, clock: datetime) -> list[Piece]:
    """Some of the crew's ladders stay in the block, chained and counted."""
    plans, ladders = day.plans.get(team.code), team.held["ladder"][:STOWED]
    if not (plans and ladders and day.comes("stowed")):
        return []
    block = plans[-1].block_id
    detail = {"block": block, "locked_by": team.crew.leader, "counted": len(ladders)}
    for number, piece in enumerate(ladders):
        at = clock + day.a_while(number, number + 0.5)
        day.write(at, piece, "stowed", crew=team.code, block=block, detail=detail)
        day.farm.lose(piece, "orchard")
    return ladders


def _fetch(day: Day, team: Team, counter: int, clock: datetime) -> datetime:
    """Ladders that stood in the orchard last night come in with the first crew that has room on its trailer."""
    for piece in day.farm.pieces:
        if piece.place == "orchard" and piece.store == team.crew.store_id and piece.since < day.number:
            clock += day.a_while(2, 4)
            day.take_back(clock, piece, piece.store, counter=counter)
    return clock
