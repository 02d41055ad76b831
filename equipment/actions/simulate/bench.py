"""The mender's afternoon: what lies on the bench is mended, the oldest first; a ladder waits for a second look."""

from datetime import datetime

from equipment import catalogue
from equipment.actions.simulate.day import Day
from equipment.actions.simulate.farm import Piece

AN_AFTERNOON = 1
"""Pieces that one mender gets done in a store beside the washing: the bench fills up in a season's first weeks."""


def bench(day: Day) -> None:
    faults = {fault.code: fault for fault in catalogue.load().fault}
    for store in day.farm.stores:
        at = day.at("16:06")
        _look_at_ladders(day, store)
        broken = [p for p in day.farm.pieces if p.store == store and p.place == "store" and p.faults]
        for piece in sorted(broken, key=_first)[:AN_AFTERNOON]:
            fault = faults[piece.faults[0]]
            if fault.released_by == "mender":
                at = _mend(day, at, piece)
                piece.faults.pop(0)
                piece.days_used = 0
            elif piece.waits:
                _release(day, at, piece)
            else:
                at = _mend(day, at, piece)
                piece.waits = True


# What the shed does not mend itself, but can make good with a part of the maker's.
NEW_PARTS = {
    "ladder_cracked_stile": "New stile of the maker's fitted",
    "goggles_cracked": "New lens of the same make fitted",
}


def _first(piece: Piece) -> tuple[bool, int]:
    """Ladders before all else, then the oldest."""
    return piece.kind != "ladder", piece.since


def _look_at_ladders(day: Day, store: str) -> None:
    free = list(day.farm.free(store, "ladder"))
    if free and day.comes("ladder_cracked"):
        fault = "ladder_cracked_stile"
        day.write(day.at("16:03"), free[-1], "fault_found", detail={"fault": fault})
        free[-1].faults.append(fault)


def _mend(day: Day, at: datetime, piece: Piece) -> datetime:
    fault = next(each for each in catalogue.load().fault if each.code == piece.faults[0])
    minutes = max(1, (fault.minutes or 10) + day.random.randrange(-3, 6))
    detail = {
        "fault": fault.code,
        "method": NEW_PARTS.get(fault.code) or fault.mend.partition(".")[0][:120],
        "minutes": minutes,
        "where": "shed",
    }
    day.scribe.line(at, piece.store, "mended", by=day.farm.mender, item=piece.id, detail=detail)
    return at + day.a_while(60, 240)


def _release(day: Day, at: datetime, piece: Piece) -> None:
    """The storeman looks at what the mender did yesterday, and lets it go."""
    detail = {"fault": piece.faults[0]}
    day.scribe.line(at, piece.store, "released", item=piece.id, detail=detail)
    piece.faults.pop(0)
    piece.waits = False
