"""Days that are asked for again and again, ready to touch; and a period cut into smaller ones."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from crews.models import DayPlan
from equipment.models import Entry

# No picking for so long ends a season.
BETWEEN_SEASONS = timedelta(days=60)
MOST_DAYS_OF_PICKING = 400


@dataclass(frozen=True, slots=True)
class Days:
    """From `first` to `last`, both included. `season`: these are those of the season."""

    words: str
    first: date
    last: date
    season: bool = False


def last_week(today: date) -> tuple[date, date]:
    """From Monday to Sunday."""
    monday = today - timedelta(days=today.weekday() + 7)
    return monday, monday + timedelta(days=6)


def presets(today: date) -> list[Days]:
    """Two queries."""
    yesterday, month = today - timedelta(days=1), today.replace(day=1)
    before = month - timedelta(days=1)
    began = book_began()
    found = [
        Days(_("Today"), today, today),
        Days(_("Yesterday"), yesterday, yesterday),
        Days(_("This week"), today - timedelta(days=today.weekday()), today),
        Days(_("Last week"), *last_week(today)),
        Days(_("This month"), month, today),
        Days(_("Last month"), before.replace(day=1), before),
        Days(_("The season"), _season_began(today) or began or month, today, season=True),
    ]
    return [*found, Days(_("The whole book"), began, today)] if began else found


def book_began() -> date | None:
    """The first day that any store's book speaks of; it begins with what was registered."""
    first = Entry.objects.filter(position=1).order_by("happened_at").values_list("happened_at", flat=True)
    at = first.first()
    return timezone.localdate(at) if at else None


def _season_began(today: date) -> date | None:
    """The first planned day of picking after the last long pause."""
    rows = DayPlan.objects.filter(date__lte=today).order_by("-date").values_list("date", flat=True).distinct()
    began = None
    for day in rows[:MOST_DAYS_OF_PICKING]:
        if began and began - day > BETWEEN_SEASONS:
            break
        began = day
    return began


def smaller(first: date, last: date) -> list[Days]:
    """The period in pieces of the largest unit that cuts it: years, months, weeks or days; empty for a single day."""
    for begins, words in (
        (lambda day: (day.month, day.day) == (1, 1), "Y"),
        (lambda day: day.day == 1, gettext_noop("F Y")),
        (lambda day: day.weekday() == 0, ""),
        (lambda day: True, gettext_noop("D j M Y")),
    ):
        pieces = list(_cut(first, last, begins))
        if len(pieces) > 1:
            return [Days(said(*piece, words), *piece) for piece in pieces]
    return []


def _cut(first: date, last: date, begins: object) -> Iterator[tuple[date, date]]:
    start = first
    for number in range(1, (last - first).days + 1):
        day = first + timedelta(days=number)
        if begins(day):  # type: ignore[operator]
            yield start, day - timedelta(days=1)
            start = day
    yield start, last


def said(first: date, last: date, words: str = "") -> str:
    """Short; `words` is how a calendar unit is written."""
    if first == last:
        return str(date_format(first, _(words or "j M Y")))
    if words:
        return str(date_format(first, _(words)))
    begins = _("j M") if first.year == last.year else _("j M Y")
    ends = {"first": date_format(first, begins), "last": date_format(last, _("j M Y"))}
    return _("%(first)s to %(last)s") % ends
