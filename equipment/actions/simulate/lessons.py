"""At noon now and then a crew is shown something, and a picker is heard on what became of a piece.

What is drawn here is drawn from a stream of its own: the rest of the season is the same with it and without.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from random import Random

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from equipment.actions.simulate.day import Day
from equipment.actions.simulate.farm import Piece, Team
from equipment.models import Entry

AT_NOON, AFTERWARDS = "12:20", "12:50"
MISSES_IT = 0.08
# In this order, again and again; the ladders on the first day.
COURSE = (("ladder", 40), ("bath", 25), ("clippers", 30), ("first_aid", 60))
SAID = (
    gettext_noop("It hung on the trailer when we left; nobody counted them there."),
    gettext_noop("I gave it back with the others. The queue was long, perhaps it was not scanned."),
    gettext_noop("I put it down at the tap and it was gone when I came back. I told the supervisor at once."),
)


def lessons(day: Day) -> None:
    random = Random(f"lessons {day.seed} {day.number}")  # noqa: S311 the same seed must give the same season
    with _drawing(day, random):
        teams = [team for team in day.farm.teams if day.plans.get(team.code) and team.people]
        if teams and day.happens["lesson"]:
            _lesson(day, random, random.choice(teams))
        if day.happens["heard"]:
            _heard(day, random)


@contextmanager
def _drawing(day: Day, random: Random) -> Iterator[None]:
    """The ids of what is written, and of the phone that it is written on, come from `random`."""
    seasons, day.scribe.random = day.scribe.random, random
    try:
        for store in day.farm.stores:
            day.scribe.pen(store, 0, day.farm.planner)
        yield
    finally:
        day.scribe.random = seasons


def _lesson(day: Day, random: Random, team: Team) -> None:
    topic, minutes = COURSE[day.number % len(COURSE)]
    trainer = day.farm.officer if topic in ("ladder", "first_aid") else day.farm.mender
    detail = {"topic": topic, "minutes": minutes, "trainer": trainer.pk}
    at = day.at(AT_NOON)
    act = day.scribe.new_id(at)
    there = [person for person in team.people if random.random() >= MISSES_IT] or team.people
    for person in there:
        who = {"crew": team.code, "picker": person.picker.pk, "by": day.farm.planner}
        day.scribe.line(at, team.crew.store_id, "trained", act=act, detail=detail, **who)


def _heard(day: Day, random: Random) -> None:
    """Whoever had a piece that was missed, if nobody asked them yet; it may be written off by now."""
    lost = [piece for piece in day.farm.pieces if piece.place in ("missing", "gone")]
    random.shuffle(lost)
    for piece in lost:
        if last := _had_last(piece):
            who = {"crew": last.crew_id, "picker": last.picker_id, "by": day.farm.planner}
            day.write(day.at(AFTERWARDS), piece, "heard", note=_(random.choice(SAID)), **who)
            return


def _had_last(piece: Piece) -> Entry | None:
    """The hand-out to a picker after which the piece was missed, where nothing has been said of it since."""
    told = Entry.objects.filter(item=piece.id, verb__in=("handed_out", "returned", "missed", "heard"))
    last = list(told.order_by("-happened_at", "-id")[:2])
    if [entry.verb for entry in last] != ["missed", "handed_out"]:
        return None
    return last[1] if last[1].picker_id else None
