"""How much of the gear that must be sterilised was sterilised before it went out again, by week."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import (
    Count,
    F,
    IntegerField,
    OuterRef,
    Q,
    Subquery,
    TextField,
    Value,
)
from django.db.models.fields.json import KT
from django.db.models.functions import Cast, Coalesce, TruncWeek

from equipment.models.charts.window import Window


@dataclass(frozen=True, slots=True)
class Week:
    """From `monday` on: of `out` handouts, `sterile` were of pieces sterilised since they last went out."""

    monday: date
    out: int
    sterile: int


def sterilised(window: Window, kinds: Collection[str]) -> list[Week]:
    """Every handout to a picker of a piece of `kinds`; weeks without one are there too, between the first and the last
    that has one. A sterilisation counts that lasted as long as the rules of its day asked and was of the right
    recipe; whether its bath was good, a chart does not ask. One query."""
    rows = window.entries("handed_out").filter(picker__isnull=False, item__kind__in=kinds)
    weeks = rows.annotate(last=_before(window), week=TruncWeek("happened_at")).values("week").order_by("week")
    found = weeks.annotate(out=Count("id"), sterile=Count("id", filter=Q(last="cleaned")))
    return list(_without_gaps([Week(row["week"].date(), row["out"], row["sterile"]) for row in found]))


def _before(window: Window) -> Subquery:
    """What happened to the piece last before the entry, of being handed out and of being sterilised as it should be."""
    wrong = Coalesce(KT("detail__wrong"), Value(""), output_field=TextField())
    rows = window.of_the_item("handed_out", "cleaned").filter(happened_at__lt=OuterRef("happened_at"))
    rows = rows.annotate(wrong=wrong, took=_whole("seconds"), needs=_whole("needs_seconds"))
    dipped = Q(word="cleaned", detail__method="sterilise", wrong="", took__gte=F("needs"))
    newest = window.standing(rows.filter(Q(word="handed_out") | dipped)).order_by("-happened_at", "word")
    return Subquery(newest.values("word")[:1])


def _whole(word: str) -> Coalesce:
    """A whole number of the detail, 0 where there is none."""
    return Coalesce(Cast(KT(f"detail__{word}"), IntegerField()), 0)


def _without_gaps(weeks: list[Week]) -> list[Week]:
    if not weeks:
        return []
    known = {week.monday: week for week in weeks}
    count = (weeks[-1].monday - weeks[0].monday).days // 7 + 1
    mondays = (weeks[0].monday + timedelta(weeks=n) for n in range(count))
    return [known.get(monday, Week(monday, 0, 0)) for monday in mondays]
