"""Faults by kind of gear and type of fault."""

from datetime import datetime

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from equipment import catalogue
from equipment.actions import names
from equipment.documents.charts.bars import Bar, Bars
from equipment.documents.charts.base import Chart, Figures
from equipment.models import Kind
from equipment.models.charts import Faults, Window, faults

# So many of the most frequent ones are drawn.
DRAWN = 15


def figures(window: Window, at: datetime) -> Figures:
    left_out = [row.code for row in catalogue.load().fault if row.makes_due]
    found = faults(window, left_out)
    kinds = {kind.pk: str(kind) for kind in Kind.objects.all()} if found else {}
    drawn = found[:DRAWN]
    most = max((row.count for row in drawn), default=0)
    bars = Bars([_bar(row, kinds, most) for row in drawn], before=0, behind=44) if found else None
    rows = [(kinds.get(row.kind, row.kind), names.fault(row.fault), row.count) for row in found]
    return Figures((_("Kind"), _("Fault"), _("Found")), rows, bars, len(found) - len(drawn), labels=2)


def _bar(row: Faults, kinds: dict[str, str], most: int) -> Bar:
    words = {"kind": kinds.get(row.kind, row.kind), "fault": names.fault(row.fault)}
    return Bar(_("%(kind)s: %(fault)s") % words, ((row.count / most, 0),), str(row.count))


CHART = Chart(
    name="faults",
    title=gettext_noop("Faults by kind and type"),
    about=gettext_noop(
        "Counted is each time that a fault was written down, by itself or at an inspection; the same fault of the same "
        "piece may have been found twice. Dirt and wet are left out: they are washed and dried, not mended."
    ),
    empty=gettext_noop("No fault was found in these days."),
    register="faults",
    figures=figures,
)
