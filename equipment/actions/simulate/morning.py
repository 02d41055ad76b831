"""The handout: crews get their shared gear, then one picker after the other stands at a counter."""

from collections import Counter
from datetime import datetime

from django.utils.translation import gettext as _

from crews.models import Badge
from equipment.actions.lend_badge import lend_day_card, reissue
from equipment.actions.simulate.chances import ABSENT, UNUSUAL
from equipment.actions.simulate.day import Day
from equipment.actions.simulate.farm import Person, Piece, Team
from equipment.actions.simulate.scribe import COUNTERS
from equipment.domain import kit
from equipment.domain.kit import KitLine
from equipment.models.kits import asked


def morning(day: Day) -> None:
    for store in day.farm.stores:
        clocks = [day.at("05:15") + day.a_while(0, 90) for _counter in range(COUNTERS)]
        for number, team in enumerate(day.teams(store)):
            counter = number % COUNTERS
            clocks[counter] = _serve_crew(day, team, counter, clocks[counter])


def _serve_crew(day: Day, team: Team, counter: int, clock: datetime) -> datetime:
    clock = _shared(day, team, counter, clock)
    lines = asked(day.plans[team.code], present=0)
    present = [person for person in team.people if day.random.random() >= ABSENT]
    day.random.shuffle(present)
    for person in present:
        clock = _serve(day, person, lines, counter, clock + day.a_while(3, 9))
    return clock


def _shared(day: Day, team: Team, counter: int, clock: datetime) -> datetime:
    """Ladders, first aid, toolbox, water, spares: what the plan asks of the crew and the store still has."""
    lines = asked(day.plans[team.code], len(team.people), "crew")
    for line in kit.missing(lines, _held(team)):
        # Spares are only advised: one of each, and none that somebody usually carries.
        wanted = line.quantity if line.need == "required" else 1
        free = sorted(_free(day, team, line.kind), key=lambda piece: piece.usual is not None)
        for piece in free[:wanted]:
            clock += day.a_while(2, 5)
            day.hand_out(clock, piece, team, counter=counter)
    return clock


def _free(day: Day, team: Team, kind: str) -> list[Piece]:
    """What lies in the store, but for what another counter had in its hands a moment ago."""
    return [piece for piece in day.farm.free(team.crew.store_id, kind) if piece.id not in day.undone]


def _serve(day: Day, person: Person, lines: tuple[KitLine, ...], counter: int, clock: datetime) -> datetime:
    _card(day, person)
    clock = _hand_out_set(day, person, counter, clock)
    for line in kit.missing(lines, _held(person)):
        clock += day.a_while(1.5, 4)
        piece = _choose(day, person, line.kind)
        if piece is None or (
            line.need == "required"
            and line.kind != "bag"
            and day.comes("waived", among=len(day.farm.people()))
        ):
            _do_without(day, person, line, clock)
        else:
            clock = _wrong_scan(day, person, piece, counter, clock)
            day.hand_out(clock, piece, person, counter=counter)
    return clock


def _held(holder: Person | Team) -> Counter[str]:
    return Counter({kind: len(pieces) for kind, pieces in holder.held.items()})


def _hand_out_set(day: Day, person: Person, counter: int, clock: datetime) -> datetime:
    """The set packed for this picker the evening before: one scan, one act."""
    pieces, person.set = [piece for piece in person.set if piece.packed], []
    if pieces:
        clock += day.a_while(1.5, 3)
        act = day.scribe.new_id(clock)
        for piece in pieces:
            day.hand_out(clock, piece, person, counter=counter, act=act)
    return clock


def _choose(day: Day, person: Person, kind: str) -> Piece | None:
    """The piece they usually carry, or else one that fits and that nobody else usually carries."""
    usual = person.usual.get(kind)
    if usual is not None and usual.lies_free and usual.suits(person) and day.random.random() >= UNUSUAL:
        return usual
    wants = person.wants(day.farm.kinds[kind])
    free = _free(day, person.team, kind)
    free = [piece for piece in free if piece.suits(person)]
    fitting = [piece for piece in free if fits(piece, wants)] or free
    unclaimed = [piece for piece in fitting if piece.usual is None]
    piece = day.some(unclaimed or fitting)
    if piece is not None and usual is None and piece.usual is None:
        person.usual[kind], piece.usual = piece, person
    return piece


def fits(piece: Piece, wants: dict[str, str]) -> bool:
    return all(not wanted or getattr(piece, trait) == wanted for trait, wanted in wants.items())


def _do_without(day: Day, person: Person, line: KitLine, clock: datetime) -> None:
    team = person.team
    if line.need == "required":
        who = {"crew": team.code, "picker": person.picker.pk, "detail": {"kind": line.kind}}
        note = _("None left that fits; shares with the neighbour until noon.")
        day.scribe.line(clock, team.crew.store_id, "waived", **who, note=note)


def _wrong_scan(day: Day, person: Person, piece: Piece, counter: int, clock: datetime) -> datetime:
    """Now and then the piece of somebody else in the crew is scanned first, and the scan undone."""
    free = (other for other in day.farm.free(piece.store, piece.kind) if other is not piece)
    others = [
        other for other in free if other.usual and other.usual.team is person.team and other.suits(person)
    ]
    if not others or not day.comes("wrong_scan", among=len(day.farm.people())):
        return clock
    wrong = day.random.choice(others)
    used_by = wrong.used_by
    entry = day.hand_out(clock, wrong, person, counter=counter)
    day.farm.put(wrong, wrong.store)
    wrong.used_by = used_by
    day.undone.add(wrong.id)
    clock += day.a_while(2, 5)
    detail = {"entry": str(entry)}
    day.write(clock, wrong, "reversed", crew=person.team.code, counter=counter, detail=detail)
    return clock + day.a_while(2, 4)


def _card(day: Day, person: Person) -> None:
    """Somebody has left their badge at home, or lost it."""
    if day.comes("no_badge", among=len(day.farm.people())):
        used = Badge.objects.filter(loans__from_day=day.date, day_card=True).values("pk")
        card = Badge.objects.filter(day_card=True, died_on=None).exclude(pk__in=used).order_by("pk").first()
        if card is not None:
            lend_day_card(card, person.picker, day.date)
    if day.comes("badge_lost", among=len(day.farm.people())):
        reissue(person.picker, day.date, _("Lost in the orchard."))
