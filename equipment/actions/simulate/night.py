"""After knock-off: what is not there is marked, worn gear goes, crews change, and sets are packed for the morning."""

from collections.abc import Sequence
from datetime import datetime

from django.utils.translation import gettext as _

from crews.models import DayPlan
from equipment.actions.register import free_tags
from equipment.actions.simulate.day import Day, crew_of
from equipment.actions.simulate.farm import Person, Piece, Team
from equipment.models import Discrepancy
from equipment.models.kits import asked

SETS_A_STORE = 8
SMALL_GEAR = ("bag", "clippers", "gloves", "goggles")


def night(day: Day, sets: Sequence[str]) -> None:
    _mark_missing(day)
    _write_off(day)
    _new_labels(day)
    _settle(day)
    _people(day)
    taken = {person.set_tag for person in day.farm.people() if person.set}
    for store in day.farm.stores:
        _pack(day, store, [tag for tag in sets if tag not in taken][:SETS_A_STORE], taken)


def _mark_missing(day: Day) -> None:
    """What has been out too long, or cannot be found: the longest out first."""
    out = [piece for piece in day.farm.pieces if piece.place == "picker" and piece.kind in SMALL_GEAR]
    out.sort(key=lambda piece: piece.since)
    for piece in out[:1] if day.comes("missed") else []:
        note = _("Not in the bag on the trailer; the crew looks for it tomorrow.")
        day.write(day.at("17:10", seconds=3.5), piece, "missed", crew=crew_of(piece), note=note)
        day.farm.lose(piece, "missing")


def _write_off(day: Day) -> None:
    missing = [piece for piece in day.farm.pieces if piece.place == "missing"]
    if missing and day.comes("lost_for_good"):
        _gone(
            day, day.at("17:20"), missing[0], "lost", _("Looked for on three mornings. Proves nobody's debt.")
        )
    worn = [
        piece for piece in day.farm.pieces if piece.lies_free and piece.kind in ("gloves", "clippers", "bag")
    ]
    if worn and day.comes("worn_out"):
        piece = day.random.choice(worn)
        _gone(day, day.at("17:24"), piece, "worn_out", _("Worn through; not worth another mend."))


def _gone(day: Day, at: datetime, piece: Piece, circumstance: str, note: str) -> None:
    day.write(at, piece, "written_off", detail={"circumstance": circumstance}, note=note)
    day.farm.lose(piece, "gone")
    if piece.usual is not None:
        piece.usual.usual.pop(piece.kind, None)


def _new_labels(day: Day) -> None:
    stored = [piece for piece in day.farm.pieces if piece.lies_free and piece.kind in SMALL_GEAR]
    if stored and day.comes("label_gone"):
        piece = day.random.choice(stored)
        tag = free_tags(day.farm.kinds[piece.kind], 1)[0]
        day.write(
            day.at("17:28"), piece, "retagged", detail={"tag": tag}, note=_("The old label cannot be read.")
        )
        piece.tag = tag


def _settle(day: Day) -> None:
    """One contradiction is looked into and closed; the others wait for somebody."""
    found = Discrepancy.objects.filter(settled=False, item__isnull=False).order_by("entry_id").first()
    if found and day.comes("settled"):
        piece = next(piece for piece in day.farm.pieces if piece.id == found.item_id)
        detail = {"key": found.key, "choice": "later"}
        note = _("Both were asked: the second one has it.")
        day.write(day.at("17:31"), piece, "settled", detail=detail, note=note)


def _people(day: Day) -> None:
    """Who changes crews, leaves the farm, or is back on it. Of those who leave, the last still owe something."""
    big = [team for team in day.farm.teams if len(team.people) > 2]
    if big and day.comes("transfer"):
        team = day.random.choice(big)
        others = [t for t in day.farm.teams if t is not team and t.crew.store_id == team.crew.store_id]
        person = day.some(
            [person for person in team.people if not person.holds(SMALL_GEAR) and not person.set]
        )
        if others and person:
            _part(day, person, day.at("17:35"))
            _join(day, person, day.random.choice(others), day.at("17:35", seconds=6))
    if big and day.comes("leaver"):
        team = day.random.choice(big)
        owing = [person for person in team.people if person.holds(SMALL_GEAR)]
        person = day.some(owing or team.people)
        if person:
            _part(day, person, day.at("17:38"))
            day.farm.gone.append(person)
    if day.farm.gone and day.comes("comes_back"):
        person = day.farm.gone.pop(0)
        _join(day, person, person.team, day.at("17:40"))


def _part(day: Day, person: Person, at: datetime) -> None:
    team = person.team
    day.scribe.line(at, team.crew.store_id, "parted", crew=team.code, picker=person.picker.pk)
    team.people.remove(person)


def _join(day: Day, person: Person, team: Team, at: datetime) -> None:
    day.scribe.line(at, team.crew.store_id, "joined", crew=team.code, picker=person.picker.pk)
    team.people.append(person)
    person.team = team


def _pack(day: Day, store: str, sets: Sequence[str], taken: set[str]) -> None:
    """Sets for the first pickers of the first crew that picks tomorrow: each what the plan asks, theirs as usual."""
    teams = [team for team in day.farm.teams if team.crew.store_id == store and day.tomorrow.get(team.code)]
    at = day.at("18:05")
    for person, tag in zip(_without_set(teams[:1]), sets, strict=False):
        pieces = _usual(person, day.tomorrow[teams[0].code])
        for piece in pieces:
            at += day.a_while(2, 4)
            day.write(at, piece, "packed", detail={"set": tag})
            piece.packed = True
        if pieces:
            person.set, person.set_tag = pieces, tag
            taken.add(tag)


def _without_set(teams: Sequence[Team]) -> list[Person]:
    people = [person for team in teams for person in team.people[:SETS_A_STORE]]
    return [person for person in people if not person.set and not person.holds(SMALL_GEAR)]


def _usual(person: Person, plans: Sequence[DayPlan]) -> list[Piece]:
    kinds = [line.kind for line in asked(plans, present=0)]
    pieces = [person.usual[kind] for kind in kinds if kind in person.usual]
    return [piece for piece in pieces if piece.lies_free and piece.suits(person)]
