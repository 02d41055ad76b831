"""Between handout and knock-off: a counter that was cut off, a refusal, gear that changes hands, the weather."""

from datetime import datetime

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from crews import policy
from crews.models import BadgeLoan, DayPlan, Device
from equipment.actions.batch import Batch
from equipment.actions.change_plan import Change, change_plan
from equipment.actions.receive import receive
from equipment.actions.simulate.day import Day
from equipment.actions.simulate.farm import Farm, Person, Piece
from equipment.domain import codes, custody

CUT_OFF = 1
"""The counter whose line to the server is down now and then: it queues its scans and sends them later."""


_WHY = {
    "cancelled": gettext_noop("The packhouse is full: no bins until tomorrow."),
    "changed": gettext_noop("The fruit in the block planned is still wet with dew."),
    "stopped": gettext_noop("Wind over the limit; ladders down."),
    "rain": gettext_noop("Rain since eleven; no picking of wet fruit."),
}


def before_work(day: Day) -> None:
    """What the weather changes before anyone is served."""
    for state in (DayPlan.State.CANCELLED, DayPlan.State.CHANGED):
        crews = sorted(day.plans)
        if crews and day.comes(state.value):
            change(day.farm, day.plans[day.random.choice(crews)][0], state, day.at("05:02"), state.value)


def change(farm: Farm, plan: DayPlan, state: str, at: datetime, why: str) -> None:
    """`why` is a key of the reasons; a changed plan goes to low trees nearby, where nobody waits for ladders."""
    block = plan.block
    if state == DayPlan.State.CHANGED:
        low = [other for other in farm.blocks if not other.tall_trees and other.pk[0] == block.pk[0]]
        block = next((other for other in low if other != block), block)
    change_plan(plan, Change(state, _(_WHY[why]), block, plan.clipped), farm.planner, at)


def weather(day: Day) -> dict[str, str]:
    """The crews that are sent home early, and whether by `rain` or `stopped`."""
    sent_home: dict[str, str] = {}
    for what in ("stopped", "rain"):
        crews = sorted(crew for crew in day.plans if crew not in sent_home)
        if crews and day.comes(what):
            crew = day.random.choice(crews)
            for plan in day.plans[crew]:
                change(day.farm, plan, DayPlan.State.STOPPED, day.at("11:10"), what)
            sent_home[crew] = what
    return sent_home


def refusals(day: Day) -> None:
    """Somebody scans what cannot go out; the counter says no and the book keeps the attempt."""
    out = [piece for piece in day.farm.pieces if piece.place == "picker"]
    gone = [piece for piece in day.farm.pieces if piece.place == "gone"]
    for number, piece in enumerate([day.some(out), day.some(gone)]):
        other = day.some([person for person in day.farm.people() if piece and person is not piece.holder])
        if piece and other and day.happens["refused"]:
            _refused(day, piece.tag, other, piece.store, number)
    if day.comes("refused") and out:
        _refused(
            day,
            codes.make("BG", 9_000_000 + day.number),
            day.random.choice(day.farm.people()),
            out[0].store,
            2,
        )


def _refused(day: Day, tag: str, person: Person, store: str, number: int) -> None:
    loan = BadgeLoan.objects.on(day.date).filter(picker=person.picker).order_by("pk").first()
    if loan is None:
        return
    at = day.at("06:22", seconds=20 * number)
    pen = day.scribe.pen(store, 0)
    # Not recorded, but sent as the counter would have: with its next number.
    draft = pen.draft("handed_out", id=day.scribe.new_id(at), happened_at=at)
    entry = {
        "id": str(draft.id),
        "verb": draft.verb,
        "item": tag,
        "picker": loan.badge_id,
        "happened_at": at.isoformat(),
        "device_seq": draft.device_seq,
    }
    device = Device.objects.get(pk=pen.device)
    receive(Batch(pen.by, device, store, "hold", at, at, [entry]))


def cut_off(day: Day) -> None:
    """Scans that one counter could only write down, and that the others knew nothing of: they contradict."""
    given = [piece for piece in day.farm.pieces if piece.place == "picker" and piece.since == day.number]
    if given and day.comes("given_twice"):
        piece = day.random.choice(given)
        others = [
            p for p in day.farm.people() if p.team.crew.store_id == piece.store and p is not piece.holder
        ]
        if others:
            day.hand_out(day.at("06:24", seconds=8), piece, day.random.choice(others), counter=CUT_OFF)
    stored = [piece for piece in day.farm.pieces if piece.lies_free and piece.usual]
    if stored and day.comes("taken_back_twice"):
        piece = day.random.choice(stored)
        day.take_back(day.at("06:25", seconds=31), piece, piece.store, counter=CUT_OFF)
    day.scribe.record("note", at=day.at("06:33"))


def change_hands(day: Day) -> None:
    """One gives what they hold to another, before the weather sends anybody home."""
    clock = day.at("09:05")
    while day.comes("change_of_hands"):
        clock += day.a_while(60, 1100)
        held = [
            piece
            for piece in day.farm.pieces
            if piece.place == "picker" and piece.kind == "bag" and not piece.faults
        ]
        piece = day.some(held)
        if piece is None or not isinstance(piece.holder, Person):
            continue
        giver, team = piece.holder, piece.holder.team
        taker = day.some([person for person in team.people if person is not giver])
        if taker:
            from_ = custody.holder(giver.picker.pk, None)
            day.hand_out(clock, piece, taker, detail={"from": from_})


def override(day: Day) -> None:
    """What turned up at first light was not dipped; the officer lets it go all the same, and says why."""
    dirty = [p for p in day.farm.pieces if p.place == "store" and p.kind == "clippers" and not p.clean]
    if policy.OFFICER not in day.farm.officer.roles or not dirty or not day.comes("overridden"):
        return
    people = [p for p in day.farm.people() if p.team.crew.store_id == dirty[0].store and p.held["bag"]]
    if taker := day.some(people):
        note = _("None other left for a left hand; the crew dips at its first tree.")
        detail = {"overridden": ["cleaning_due"]}
        day.hand_out(day.at("06:34"), dirty[0], taker, by=day.farm.officer, detail=detail, note=note)


def move(day: Day) -> None:
    """A few pieces go to the store that runs short."""
    if len(day.farm.stores) < 2 or not day.comes("moved"):
        return
    source, target = day.farm.stores[:2]
    free = [piece for piece in day.farm.free(source, "goggles") if piece.usual is None]
    for number, piece in enumerate(free[:3]):
        day.write(day.at("10:40", seconds=4 * number + 0.25), piece, "moved", detail={"to": target})
        day.farm.put(piece, target)


def late_finds(day: Day) -> None:
    """At first light what was missing turns up: by the shed, or with the crew."""
    missing: list[Piece] = [piece for piece in day.farm.pieces if piece.place == "missing"]
    if missing and day.comes("found"):
        piece = day.random.choice(missing)
        day.write(
            day.at("05:05", seconds=7), piece, "found", note=_("Hung on the fence by the washing place.")
        )
        day.farm.put(piece, piece.store)
