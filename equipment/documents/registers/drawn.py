"""The chart that belongs to a register, under its end: the same drawing as on the page, of the book as it stood."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from django.utils.translation import gettext as _
from reportlab.graphics import renderPDF
from reportlab.lib.units import mm

from equipment.documents.charts import CHARTS, Chart, Figures, counted, drawing
from equipment.documents.charts.bars import WIDTH
from equipment.documents.fonts import BOLD, PLAIN
from equipment.documents.registers.facts import Facts
from equipment.documents.registers.setting import broken
from equipment.models.charts import Window

if TYPE_CHECKING:
    from equipment.documents.registers.pdf import Table

# A chart knows days and a store; of a register that is limited otherwise it would show what the paper leaves out.
KNOWN = frozenset({"first", "last", "store"})
TITLE, BODY, STEP, AIR = 9.0, 7.5, 3.4, 6.0
LARGEST = 0.75


def draw_charts(table: "Table", facts: Facts) -> None:
    if not facts.count or facts.asked.plain().keys() - KNOWN:
        return
    window = Window(facts.asked.first, facts.asked.last, facts.asked.store, facts.heads)
    for chart in _of(facts):
        figures = counted(chart, window, facts.at)
        if figures.bars is not None:
            _draw(table, chart, figures)


def _of(facts: Facts) -> Iterator[Chart]:
    yield from (chart for chart in CHARTS.values() if chart.register == facts.register.name)


def _draw(table: "Table", chart: Chart, figures: Figures) -> None:
    """Never cut in two: on a further page where this one has no room, and smaller where no page has."""
    assert figures.bars is not None  # noqa: S101 asked by the caller
    leaves, left, room = table.leaves, table.face.left, table.face.right - table.face.left
    about = broken(_(chart.about), room, PLAIN, BODY)
    words = AIR + TITLE * 0.6 + (len(about) + bool(figures.left_out)) * STEP
    made = drawing(figures.bars)
    most = table.face.later_room - words
    scale = min(LARGEST, room * mm / WIDTH, most * mm / made.height)
    table.keep(words + made.height * scale / mm)
    table.mark(_(chart.title))
    table.y -= AIR + TITLE * 0.4
    leaves.text(left, table.y, _(chart.title), font=BOLD, size=TITLE, room=room)
    left_out = [_("Not drawn: %(n)d lines.") % {"n": figures.left_out}] if figures.left_out else []
    for line in (*about, *left_out):
        table.y -= STEP
        leaves.text(left, table.y, line, size=BODY)
    made.scale(scale, scale)
    table.y -= made.height * scale / mm + TITLE * 0.2
    renderPDF.draw(made, leaves, left * mm, table.y * mm)
