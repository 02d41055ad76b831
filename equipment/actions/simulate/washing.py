"""After work: everything that came back is sterilised or washed, looked at when it is due, and baths are mixed."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from equipment.actions.inspect_item import all_good
from equipment.actions.simulate.day import Day
from equipment.actions.simulate.farm import OWN, STERILE, Piece
from equipment.domain import codes
from equipment.models import Item, checklists

RECIPE = "clippers_daily_bleach"
LITRES, PRODUCT_ML = 25, 2500
AT_ONCE = 40
LEFT_WET = 3
"""Pieces that hang on the line overnight."""
WASHED_EVERY = {"gloves": 3, "glove": 3, "bag": 6, "water_container": 4, "ladder": 8, "bin": 8}
INSPECTED_EVERY = {
    "clippers_daily": 1,
    "ladder_daily": 1,
    "ladder_monthly": 20,
    "first_aid_weekly": 4,
    "trailer_season": 300,
    "bag_weekly": 6,
    "goggles_weekly": 6,
}
FIRST_AID = "first_aid_weekly"
DATED = ("Antiseptic, sachet", "Eye wash, fluid ounce", "Burn treatment, sachet")
FAILED = 8
"""The last pieces of an evening go into a bath that was mixed in haste."""


def get_ready(day: Day) -> None:
    """Before the first picking day all gear is sterilised, washed and looked at."""
    for store in day.farm.stores:
        pieces = [piece for piece in day.farm.pieces if piece.store == store]
        _sterilise(day, store, day.at("01:00"), [p for p in pieces if p.kind in STERILE])
        _wash(day, store, day.at("02:20"), [p for p in pieces if p.kind in (*WASHED_EVERY, *OWN)])
        _inspect(day, store, day.at("03:00"), pieces)


def after_work(day: Day) -> None:
    for store in day.farm.stores:
        here = [p for p in day.farm.pieces if p.store == store and p.place == "store"]
        _sterilise(day, store, day.at("16:12"), [p for p in here if p.kind in STERILE and _asks(day, p, 1)])
        worn = [p for p in here if p.kind in OWN and (p.void or p.used_by not in (None, p.usual))]
        dirty = [p for p in here if p.kind in WASHED_EVERY and (p.wet or _asks(day, p, WASHED_EVERY[p.kind]))]
        left_wet = [p for p in dirty if p.wet][-LEFT_WET:] if day.comes("left_wet") else []
        _wash(day, store, day.at("16:40"), [p for p in [*worn, *dirty] if p not in left_wet])
        _flag(day, store)
        _torn(day, store)
        _inspect(day, store, day.at("16:52"), here)


def _flag(day: Day, store: str) -> None:
    """The officer keeps a pair back that cut in a tree which looks ill; until the laboratory has answered it stays."""
    free = list(day.farm.free(store, "clippers"))
    if free and day.comes("flagged"):
        detail = {"disease": "exocortis", "case": "lab 14"}
        note = _("Cut in the stunted tree by the pump; the sample is on its way.")
        by = day.farm.officer
        piece = free[-1]
        day.scribe.line(day.at("17:24"), store, "flagged", by=by, item=piece.id, detail=detail, note=note)
        day.farm.lose(piece, "flagged")


def _torn(day: Day, store: str) -> None:
    """Seen when the bags are hung up, too late for today's bench."""
    free = [piece for piece in day.farm.free(store, "bag") if piece.usual is None]
    while free and day.comes("torn"):
        piece = free.pop()
        day.write(day.at("17:26", seconds=len(free)), piece, "fault_found", detail={"fault": "bag_torn_seam"})
        piece.faults.append("bag_torn_seam")


def before_light(day: Day) -> None:
    """What a bad bath voided the evening before is dipped again."""
    for store in day.farm.stores:
        here = [p for p in day.farm.pieces if p.store == store and p.place == "store"]
        void = [p for p in here if p.void and p.kind in STERILE]
        if void:
            _sterilise(day, store, day.at("04:05"), void)


def _asks(day: Day, piece: Piece, days: int) -> bool:
    return piece.cleaned is None or (day.date - piece.cleaned).days >= days or not piece.clean


def _sterilise(day: Day, store: str, at: datetime, pieces: Sequence[Piece]) -> None:
    """In one bath, tested when it is mixed; `bath_fails`: the last ones in a bath that turns out too weak."""
    if not pieces:
        return
    bad = list(pieces[-FAILED:]) if day.comes("bath_fails") else []
    good = [piece for piece in pieces if piece not in bad]
    end = _bath(day, store, at, good, litres=LITRES, reading=480 + day.random.randrange(60))
    if bad:
        _bath(day, store, end, bad, litres=5, reading=180 + day.random.randrange(60), tested_last=True)
        for piece in bad:
            piece.void = True


def _bath(
    day: Day,
    store: str,
    at: datetime,
    pieces: Sequence[Piece],
    *,
    litres: int,
    reading: int,
    tested_last: bool = False,
) -> datetime:
    """Mix it, test it, dip so many at a time, empty it. When that is done."""
    own = day.scribe.new_id(at)
    lot = {"product_lot": f"JK{day.date:%m}-{1 + day.date.day // 11}", "strength_pct": 5}
    mixing = {"recipe": RECIPE, "litres": litres, "product_ml": litres * PRODUCT_ML // LITRES, **lot}
    _tell(day, store, at, "mixed", own, mixing)
    at += timedelta(minutes=4)
    test = {"ppm": reading, "diluted": 10}
    if not tested_last:
        _tell(day, store, at, "tested", own, test)
    for group in _groups(pieces):
        at += timedelta(minutes=11)
        act = day.scribe.new_id(at)
        seconds = 610 + day.random.randrange(45)
        for piece in group:
            detail = {"method": "sterilise", "seconds": seconds, "each_scanned": True}
            _clean(day, at, piece, act=act, bath=own, detail=detail)
    if tested_last:
        at += timedelta(minutes=2)
        _tell(day, store, at, "tested", own, test)
    at += timedelta(minutes=2)
    _tell(day, store, at, "emptied", own, {"where": "drain to the septic tank"})
    return at


def _tell(day: Day, store: str, at: datetime, verb: str, bath: UUID, detail: dict[str, Any]) -> None:
    day.scribe.line(at, store, verb, by=day.farm.mender, bath=bath, detail=detail)


def _wash(day: Day, store: str, at: datetime, pieces: Iterable[Piece]) -> None:
    detail = {"method": "wash", "recipe": "wash_soap", "each_scanned": True}
    for group in _groups(list(pieces)):
        at += timedelta(seconds=40)
        act = day.scribe.new_id(at)
        for piece in group:
            _clean(day, at, piece, act=act, detail=detail)
            if piece.wet:
                dry = {"method": "dry", "each_scanned": True}
                _clean(day, at + timedelta(minutes=25), piece, detail=dry)
                piece.wet = False


def _clean(day: Day, at: datetime, piece: Piece, **fields: Any) -> None:
    day.scribe.line(at, piece.store, "cleaned", by=day.farm.mender, item=piece.id, **fields)
    piece.cleaned, piece.used_by, piece.void = day.date, None, False


def _inspect(day: Day, store: str, at: datetime, pieces: Iterable[Piece]) -> None:
    for checklist, days in INSPECTED_EVERY.items():
        kind = checklists.by_code()[checklist].kind
        for piece in pieces:
            if piece.kind != kind or piece.faults:
                continue
            last = piece.inspected.get(checklist)
            if last is None or (day.date - last).days >= days:
                at += day.a_while(1, 3)
                detail = {"checklist": checklist, "answers": _answers(checklist, piece)}
                if checklist == FIRST_AID:
                    detail["expiries"] = _dates(piece, day.date)
                day.scribe.line(at, store, "inspected", by=day.farm.officer, item=piece.id, detail=detail)
                piece.inspected[checklist] = day.date


def _answers(checklist: str, piece: Piece) -> dict[str, Any]:
    """All good; what is measured is as the piece was registered."""
    try:
        return all_good(checklist)
    except ValueError:
        known = Item.objects.values("length_m", "rating_kg").get(pk=piece.id)
        measured = {"length": known["length_m"], "rating": known["rating_kg"]}
        points = checklists.by_code()[checklist].point
        return {p.code: p.good[0] if p.good else float(measured.get(p.code) or p.low or 0) for p in points}


def _dates(piece: Piece, today: date) -> dict[str, str]:
    """The days on the packages of a first-aid kit, the same at each look: no chance has a part in them."""
    packed = min(piece.inspected.values(), default=today)
    first = packed + timedelta(days=90 + 60 * (codes.parse(piece.tag).number % 5))
    return {name: (first + timedelta(days=200 * n)).isoformat() for n, name in enumerate(DATED)}


def _groups(pieces: Sequence[Piece]) -> Iterable[Sequence[Piece]]:
    return (pieces[start : start + AT_ONCE] for start in range(0, len(pieces), AT_ONCE))
