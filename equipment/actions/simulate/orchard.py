"""In the orchard: the morning check, the crew's visits and its break, clippers dipped at tea, and what breaks."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _

from crews.models import DayPlan, User
from equipment import catalogue
from equipment.actions.simulate.day import Day
from equipment.actions.simulate.farm import Person, Piece, Team
from equipment.domain import custody
from equipment.models import checklists

BREAKS = 0.005
"""How many of the pieces in use break in a day, where nothing is weak about them."""
WEARING = ("bag", "clippers", "gloves", "goggles", "ladder")
WIPED = {"method": "sterilise", "recipe": "clippers_alcohol", "seconds": 45, "each_scanned": False}


LINE_BACK = "15:12"
"""When a phone that had no line all day sends what it kept."""


def orchard(day: Day, sent_home: Mapping[str, str]) -> None:
    day.scribe.cut_off = _without_a_line(day)
    for team in day.farm.teams:
        if plans := day.plans.get(team.code):
            if day.comes("taken_over"):
                _tell(day, team, day.at("06:35"), "taken_over")
            _check(day, team, plans[0])
            _visits(day, team, plans, sent_home.get(team.code, ""))
            if plans[0].clipped and day.comes("replanned"):
                detail = {"date": day.date.isoformat(), "clipped": False}
                _tell(day, team, day.at("09:56"), "replanned", detail=detail, note=_("The dew has dried."))
            _dip(day, team)
            _break(day, team)
            _wears_on(day, team)


def _without_a_line(day: Day) -> dict[int, datetime]:
    """Some days one supervisor's phone has no signal until the crew comes home. No chance has a part in who."""
    led = [t.crew.supervisor for t in day.farm.teams if t.crew.supervisor and day.plans.get(t.code)]
    if not led or not day.happens["no_line"]:
        return {}
    return {led[day.number % len(led)].pk: day.at(LINE_BACK)}


def leader(day: Day, team: Team) -> User:
    return team.crew.supervisor or day.farm.writers[team.crew.store_id]


def _tell(day: Day, team: Team, at: datetime, verb: str, **fields: Any) -> None:
    day.scribe.line(at, team.crew.store_id, verb, by=leader(day, team), crew=team.code, **fields)


def _check(day: Day, team: Team, plan: DayPlan) -> None:
    """The morning check; now and then a point is not in order, and once it is left out."""
    if day.comes("no_check"):
        return
    present = sum(1 for person in team.people if person.held)
    answers: dict[str, Any] = {point.code: _good(point) for point in checklists.by_code()["morning"].point}
    needed = -(-present // 20)
    answers |= {"present": present, "toilets": needed, "hand_washing": needed, "humidity": 61}
    answers |= {"temperature": 17 + day.random.randrange(8), "first_aid_kits": 1, "water": -(-present // 10)}
    if plan.block.crop.lower() not in ("lemon", "lemons"):
        answers.pop("cold_front", None)
    if day.comes("check_fails"):
        answers["open_wounds"] = 1
    _tell(
        day,
        team,
        day.at("06:36", seconds=day.random.randrange(300)),
        "morning_checked",
        detail={"answers": answers},
    )


def _good(point: Any) -> Any:
    return (
        point.good[0]
        if point.good
        else (point.low or 0) + 3
        if point.code == "cold_front"
        else point.low or 0
    )


def _visits(day: Day, team: Team, plans: list[DayPlan], sent_home: str) -> None:
    """Into the block, out for tea, on again; after noon perhaps into another block, and home."""
    slow = day.a_while(0, 420)
    first, last = plans[0].block_id, plans[-1].block_id
    _arrive(day, team, day.at("06:42") + slow, first)
    _tell(day, team, day.at("09:30") + slow, "stopped", detail={"cause": "break"})
    _arrive(day, team, day.at("09:52") + slow, first)
    if sent_home:
        cause = "rain" if sent_home == "rain" else "wind"
        _tell(day, team, day.at("11:10") + slow, "stopped", detail={"cause": cause})
        return
    if last != first:
        _tell(day, team, day.at("12:25") + slow, "left")
        _arrive(day, team, day.at("12:50") + slow, last)
    # One leaver in a while is forgotten: the visit stays open until the next one.
    if not day.comes("left_open"):
        _tell(day, team, day.at(day.work_ends) + slow, "left")


def _arrive(day: Day, team: Team, at: datetime, block: str) -> None:
    _tell(day, team, at, "arrived", block=block, detail={"block": block})


def _dip(day: Day, team: Team) -> None:
    """Everybody's clippers at tea, told of as a whole crew; some days too late, when the hours in use are up."""
    if day.comes("no_dip"):
        return
    at = day.at("11:20" if day.comes("late_dip") else "09:41", seconds=day.random.randrange(240))
    act = day.scribe.new_id(at)
    for piece in [p for person in team.people for p in person.held["clippers"]]:
        by = leader(day, team)
        day.scribe.line(
            at, piece.store, "cleaned", by=by, item=piece.id, crew=team.code, act=act, detail=dict(WIPED)
        )


def _break(day: Day, team: Team) -> None:
    """What wears out: found, written down, and a spare handed over where the crew has one."""
    holders: list[Person | Team] = [*team.people, team]
    for holder in holders:
        for piece in holder.pieces():
            if piece.kind in WEARING and not piece.faults and (fault := _fault(day, piece)):
                _swap(day, team, holder, piece, fault)


def _wears_on(day: Day, team: Team) -> None:
    """Boots and overalls stay with their pickers: what is to be mended in some days is told of, and worn on."""
    for person in team.people:
        for kind, fault in (("gumboots", "gumboots_sole"), ("overalls", "overalls_torn")):
            for piece in person.held[kind]:
                if day.random.random() < BREAKS:
                    detail = {"fault": fault}
                    _tell_of(day, team, piece, day.at("12:10") + day.a_while(0, 900), detail)


def _tell_of(day: Day, team: Team, piece: Piece, at: datetime, detail: dict[str, Any]) -> None:
    by = leader(day, team)
    day.scribe.line(at, piece.store, "fault_found", by=by, item=piece.id, crew=team.code, detail=detail)


def _fault(day: Day, piece: Piece) -> str:
    for weak in day.farm.weak:
        same = (weak.kind, weak.make) == (piece.kind, piece.make)
        often = weak.times_as_often * piece.days_used**weak.wears
        if same and day.random.random() < BREAKS / 8 * often:
            return weak.fault
    return day.random.choice(_faults(piece.kind)) if day.random.random() < BREAKS else ""


def _faults(kind: str) -> list[str]:
    """What stops its use, but for what only a nail or a wire could have brought about."""
    found = [f for f in catalogue.load().fault if kind in f.kinds and f.severity == "stop_use"]
    return [f.code for f in found if not f.code.endswith(("_wire_mend", "_nailed_rung"))]


def _swap(day: Day, team: Team, holder: Person | Team, piece: Piece, fault: str) -> None:
    at = day.at("07:00") + day.a_while(0, 8900)
    by = leader(day, team)
    _tell_of(day, team, piece, at, {"fault": fault})
    piece.faults.append(fault)
    spare = next((s for s in team.held[piece.kind] if not s.faults and s is not piece and s.clean), None)
    if spare and isinstance(holder, Person):
        at += day.a_while(20, 90)
        given = {"from": custody.holder(None, team.code)}
        day.hand_out(at, spare, holder, by=by, detail=given)
