"""A season of the farm, made up: for demos and benchmarks.

Everything goes through the one writer, so what comes of it is a book like any other. The same seed, last day and farm
give the same season: who got what from whom, and when. Only what has to be random in any book (the salts of notes)
differs.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from random import Random
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _

from crews.models import DayPlan
from equipment.actions.make_tags import make_day_cards, make_set_tags
from equipment.actions.refolding import Say, unheard
from equipment.actions.simulate import chances, farm, midday, stocktaking, washing
from equipment.actions.simulate.bench import bench
from equipment.actions.simulate.day import Day
from equipment.actions.simulate.evening import evening
from equipment.actions.simulate.farm import Weak
from equipment.actions.simulate.first_day import first_day
from equipment.actions.simulate.goods import goods
from equipment.actions.simulate.ill_block import Ill, Planted, plant
from equipment.actions.simulate.lessons import lessons
from equipment.actions.simulate.morning import morning
from equipment.actions.simulate.night import SETS_A_STORE, night
from equipment.actions.simulate.orchard import orchard
from equipment.actions.simulate.plans import make_plans, working_days
from equipment.actions.simulate.scribe import Scribe
from equipment.ledger import writing
from equipment.models import Entry
from equipment.models.kits import plans_by_crew

DAYS_AHEAD = 8
DAY_CARDS = 10


class NotNow(ValueError):
    """A season cannot be simulated in this book; the message says why."""


@dataclass(frozen=True, slots=True)
class Season:
    """`days` calendar days up to `last`, both included; Sundays are free but for the last day and the one after it."""

    last: date
    days: int = 30
    seed: int = 714
    work_ends: str = "15:30"
    weak: tuple[Weak, ...] = ()
    ill: Ill | None = None

    @property
    def first(self) -> date:
        return self.last - timedelta(days=self.days - 1)

    @property
    def picked(self) -> list[date]:
        return working_days(self.first, self.last, always=[self.last])

    @property
    def planned(self) -> list[date]:
        """The days picked, the next one, and the week after it."""
        following = self.last + timedelta(days=1)
        return [
            *self.picked,
            *working_days(following, self.last + timedelta(days=DAYS_AHEAD), always=[following]),
        ]


@dataclass(frozen=True, slots=True)
class Simulated:
    """`ill` is the block that turned out to be ill, with the pieces that were reached from it, where one was asked for
    and there was room for it."""

    days: int
    entries: int
    ill: Planted | None = None


def simulate_season(season: Season, say: Say = unheard) -> Simulated:
    """Play the season into the book, a day in one transaction; `say` is told after each day. Raises NotNow."""
    _check(season)
    random = Random(season.seed)  # noqa: S311 nothing secret: the same seed must give the same season
    land = _land()
    land.weak = season.weak
    make_plans(land, random, season.planned)
    make_day_cards(DAY_CARDS)
    sets = make_set_tags(2 * SETS_A_STORE * len(land.stores))
    scribe = Scribe(land, random)
    for number in range(len(season.picked)):
        with writing():
            _play(Day(**_facts(season, number), farm=land, scribe=scribe, random=random), sets)
        say(number + 1, len(season.picked))
    ill = plant(land, scribe, season.ill, season.last, season.seed) if season.ill else None
    counted = stocktaking.stocktake(land, season.last, season.seed)
    _look_ahead(land, season)
    return Simulated(len(season.picked), scribe.written + counted, ill)


def _land() -> farm.Farm:
    try:
        return farm.read()
    except ValueError as error:
        raise NotNow(str(error)) from None


def _check(season: Season) -> None:
    """Only into a book where nothing has been handed out yet, and after all that it says."""
    if season.days < 1:
        raise NotNow(_("A season has at least one day."))
    if season.last >= timezone.localdate():
        raise NotNow(_("A season ends yesterday at the latest: what is to come cannot be in a book."))
    if Entry.objects.exclude(verb__in=("registered", "retagged", "joined", "parted")).exists():
        raise NotNow(
            _("Gear has been handed out by this book: an invented season would be mixed with it for ever.")
        )
    last = Entry.objects.order_by("-happened_at").values_list("happened_at", flat=True).first()
    if last is not None and timezone.localdate(last) >= season.first:
        said = _("The book was begun on %(day)s; a season must come after that day.")
        raise NotNow(said % {"day": timezone.localdate(last)})


def _facts(season: Season, number: int) -> dict[str, Any]:
    today = season.picked[number]
    following = next(day for day in season.planned if day > today)
    return {
        "number": number,
        "date": today,
        "plans": plans_by_crew(today),
        "tomorrow": plans_by_crew(following),
        "happens": chances.on(number, len(season.picked)),
        "work_ends": season.work_ends,
        "seed": season.seed,
    }


def _play(day: Day, sets: Sequence[str]) -> None:
    washing.before_light(day)
    midday.late_finds(day)
    midday.before_work(day)
    day.plans = plans_by_crew(day.date)
    if day.number == 0:
        washing.get_ready(day)
        day.scribe.record()
        first_day(day)
    morning(day)
    day.scribe.record()
    midday.refusals(day)
    midday.cut_off(day)
    midday.override(day)
    sent_home = midday.weather(day)
    orchard(day, sent_home)
    midday.change_hands(day)
    midday.move(day)
    lessons(day)
    goods(day)
    evening(day, sent_home)
    bench(day)
    washing.after_work(day)
    night(day, sets)
    day.scribe.record()


def _look_ahead(land: farm.Farm, season: Season) -> None:
    """Of the days to come one plan is changed already and one cancelled."""
    ahead = [day for day in season.planned if day > season.last]
    at = timezone.make_aware(datetime.combine(season.last, time(18, 30)))
    for day, state in (
        (ahead[0], DayPlan.State.CHANGED),
        (ahead[min(2, len(ahead) - 1)], DayPlan.State.CANCELLED),
    ):
        plan = DayPlan.objects.filter(date=day, state=DayPlan.State.PLANNED).order_by("-pk").first()
        if plan is not None:
            midday.change(land, plan, state, at, state.value)
