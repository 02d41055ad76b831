"""What was written off, month by month, by its circumstance."""

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date, datetime

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from equipment.documents.charts.bars import Bar, Bars
from equipment.documents.charts.base import MOST_BARS, Chart, Figures
from equipment.domain.verbs.written_off import CIRCUMSTANCES
from equipment.models.charts import Window, losses

Months = Mapping[date, Counter[str]]


def figures(window: Window, at: datetime) -> Figures:
    months: dict[date, Counter[str]] = {}
    for row in losses(window):
        months.setdefault(row.month, Counter())[row.circumstance] += row.count
    met = {how for counted in months.values() for how in counted}
    known = [how for how in CIRCUMSTANCES if how in met]
    head = (_("Month"), *(_(CIRCUMSTANCES[how]) for how in known), _("together"))
    rows = [(_month(m), *(counted[how] for how in known), counted.total()) for m, counted in months.items()]
    drawn = dict(list(months.items())[-MOST_BARS:])
    return Figures(head, rows, _bars(drawn, known) if months else None, len(months) - len(drawn))


def _bars(months: Months, known: Sequence[str]) -> Bars:
    most = max(counted.total() for counted in months.values())
    patterns = {how: list(CIRCUMSTANCES).index(how) for how in known}
    rows = [
        Bar(_month(month), [(counted[how] / most, patterns[how]) for how in known], str(counted.total()))
        for month, counted in months.items()
    ]
    return Bars(rows, before=124, behind=44, key=[(patterns[how], _(CIRCUMSTANCES[how])) for how in known])


def _month(month: date) -> str:
    return str(date_format(month, _("F Y")))


CHART = Chart(
    name="losses",
    title=gettext_noop("Written off, by month and circumstance"),
    about=gettext_noop(
        "Counted is every piece that was written off, by the circumstance that was given for it. It proves no debt of "
        "anyone. Pieces that are missing and not written off stand in the register of losses."
    ),
    empty=gettext_noop("Nothing was written off in these days."),
    register="losses",
    figures=figures,
)
