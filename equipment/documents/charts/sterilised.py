"""How much was sterilised before it went out again, week by week."""

from datetime import datetime

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from equipment.documents.charts.bars import Bar, Bars
from equipment.documents.charts.base import MOST_BARS, Chart, Figures
from equipment.models import rules
from equipment.models.charts import Week, Window, sterilised

SOLID, EMPTY = 0, 2


def figures(window: Window, at: datetime) -> Figures:
    by_kind = rules.rules_at(at).cleaning.items()
    kinds = [kind for kind, cleanings in by_kind if any(each.method == "sterilise" for each in cleanings)]
    weeks = sterilised(window, kinds)
    drawn = weeks[-MOST_BARS:]
    bars = Bars([_bar(week) for week in drawn], before=92, behind=142, key=_key()) if weeks else None
    head = (_("Week from"), _("Handed out"), _("Sterilised in time"), _("Not"), _("Share"))
    return Figures(head, [_row(week) for week in weeks], bars, len(weeks) - len(drawn))


def share(week: Week) -> str:
    """In whole per cent, rounded down: nothing is called complete that is not."""
    return _("%(share)d %%") % {"share": 100 * week.sterile // week.out} if week.out else "–"


def _row(week: Week) -> tuple[str | int, ...]:
    day = date_format(week.monday, _("j M Y"))
    return day, week.out, week.sterile, week.out - week.sterile, share(week)


def _bar(week: Week) -> Bar:
    day = date_format(week.monday, _("j M Y"))
    if not week.out:
        return Bar(day, (), _("none handed out"))
    words = {"share": share(week), "sterile": week.sterile, "out": week.out}
    part = week.sterile / week.out
    return Bar(day, ((part, SOLID), (1 - part, EMPTY)), _("%(share)s (%(sterile)d of %(out)d)") % words)


def _key() -> tuple[tuple[int, str], ...]:
    return (SOLID, _("sterilised in time")), (EMPTY, _("not"))


CHART = Chart(
    name="sterilised",
    title=gettext_noop("Sterilised before it went out again, by week"),
    about=gettext_noop(
        "Counted is every handout to a picker of a piece that the rules of now have sterilised. In time: between the "
        "handout before it and this one, the piece was sterilised, for at least as long as the recipe of that day "
        "asked. Whether the bath was strong enough is not counted here: that stands in the sanitation register."
    ),
    empty=gettext_noop("No piece that must be sterilised was handed out in these days."),
    register="sanitation",
    figures=figures,
)
