"""Counted goods through the season: they come in, crews are given some, mends and baths use them, a shelf is counted.

What is drawn here is drawn from a stream of its own: the rest of the season is the same with it and without.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from random import Random
from typing import Any

from django.utils.translation import gettext as _

from equipment.actions.simulate.day import Day
from equipment.models import Goods, LotState, shelf

BEGINS = "13:34"
WEEK = 6
# Goods, how much of them comes in at first, the lot, and for how many days from then they are good (None: no date).
FIRST = (
    ("plasters", 240, "P-2201", 700),
    ("wound_dressings", 24, "WD-17", 400),
    ("eye_wash", 3, "EW-08", 4),
    ("eye_wash", 8, "EW-09", 300),
    ("gauze_bandages", 5, "GB-3", 5),
    ("gauze_bandages", 12, "GB-4", 500),
    ("thread", 260, "", None),
    ("clipper_springs", 22, "", None),
    ("bag_straps", 24, "", None),
    ("bleach", 40, "HB-611", 120),
    ("test_strips", 100, "TS-90", 250),
    ("thin_gloves", 400, "", None),
)
MORE_BLEACH = 15
# Nobody throws these away when their date has passed: the board tells.
FORGOTTEN = "gauze_bandages"
USED = (
    ("bleach", "bath", 2.5, 1),
    ("test_strips", "bath", 1, 1),
    ("thread", "mend", 1.5, 2),
    ("clipper_springs", "mend", 1, 2),
    ("bag_straps", "mend", 1, 3),
)
"""Goods, what for, how much at once, every how many days."""
GIVEN = (("plasters", 8, 2), ("thin_gloves", 12, 3))


def goods(day: Day) -> None:
    """Nothing where the farm counts no goods."""
    if not Goods.objects.filter(pk__in={row[0] for row in FIRST}).exists():
        return
    random = Random(f"goods {day.seed} {day.number}")  # noqa: S311 the same seed must give the same season
    for store in day.farm.stores:
        times = _times(day.at(BEGINS), random)
        with _drawing(day, store, random):
            if day.number == 0:
                _first(day, store, times)
                continue
            _used(day, store, times)
            _given(day, store, times, random)
            _thrown_away(day, store, times)
            if day.number % WEEK == WEEK - 1:
                _come_in(day, store, next(times), "bleach", MORE_BLEACH, f"HB-{611 + day.number}", 120)
                _counted(day, store, times, random)


@contextmanager
def _drawing(day: Day, store: str, random: Random) -> Iterator[None]:
    """The ids of what is written come from `random`; the counter it is written at is there already."""
    seasons = day.scribe.random
    day.scribe.pen(store, 0)
    day.scribe.random = random
    try:
        yield
    finally:
        day.scribe.random = seasons


def _times(at: datetime, random: Random) -> Iterator[datetime]:
    while True:
        yield at
        at += timedelta(seconds=random.randint(8, 25))


def _first(day: Day, store: str, times: Iterator[datetime]) -> None:
    for code, quantity, number, days in FIRST:
        _come_in(day, store, next(times), code, quantity, number, days)


def _come_in(
    day: Day, store: str, at: datetime, code: str, quantity: float, number: str, days: int | None
) -> None:
    detail: dict[str, Any] = {"goods": code, "quantity": quantity}
    if number:
        detail["lot_number"] = number
    if days is not None:
        detail["expires_on"] = day.date + timedelta(days=days)
    day.scribe.line(at, store, "received", lot=day.scribe.new_id(at), detail=detail)


def _used(day: Day, store: str, times: Iterator[datetime]) -> None:
    for code, purpose, quantity, every in USED:
        lot = _lot(day, store, code, quantity)
        if lot and day.number % every == 0:
            detail = {"quantity": quantity, "purpose": purpose}
            day.scribe.line(next(times), store, "used", lot=lot.pk, detail=detail)


def _given(day: Day, store: str, times: Iterator[datetime], random: Random) -> None:
    teams = day.teams(store)
    for code, quantity, every in GIVEN:
        lot = _lot(day, store, code, quantity)
        if lot and teams and day.number % every == 0:
            crew = random.choice(teams).code
            day.scribe.line(next(times), store, "given", lot=lot.pk, crew=crew, detail={"quantity": quantity})


def _thrown_away(day: Day, store: str, times: Iterator[datetime]) -> None:
    old = LotState.objects.there().filter(store=store, expires_on__lt=day.date)
    for lot in old.exclude(goods=FORGOTTEN).first_to_expire():
        why = _("Past its date.")
        day.scribe.line(next(times), store, "discarded", lot=lot.pk, detail={"quantity": lot.left}, note=why)


def _counted(day: Day, store: str, times: Iterator[datetime], random: Random) -> None:
    """A few have gone without a word."""
    if lot := _lot(day, store, "wound_dressings", 4):
        there = lot.left - random.randint(1, 3)
        day.scribe.line(next(times), store, "counted", lot=lot.pk, detail={"left": there})


def _lot(day: Day, store: str, code: str, quantity: float) -> LotState | None:
    """The lot that expires first of those that have so much, by the evening before."""
    lots = shelf.to_take(store, day.date, goods=code)
    return next((lot for lot in lots if lot.left >= quantity), None)
