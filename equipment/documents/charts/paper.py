"""The charts on paper: each with how it is counted, its bars, and its table."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol, cast

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from reportlab.graphics import renderPDF
from reportlab.lib.units import mm

from equipment.documents import fonts
from equipment.documents.charts.bars import WIDTH, drawing
from equipment.documents.charts.base import Figures
from equipment.documents.fonts import BOLD
from equipment.documents.page import A4, MARGIN, PAGE_END, PAGE_FOOT, Align, Foot, Paper, Writing
from equipment.documents.registers.leaves import SIZES

LINE, ABOUT_SIZE = 6.0, 9.0


class Titled(Protocol):
    """What stands around a drawing and its table; see `base.Chart`."""

    @property
    def name(self) -> str: ...
    @property
    def title(self) -> str: ...
    @property
    def about(self) -> str: ...
    @property
    def empty(self) -> str: ...


@dataclass(frozen=True, slots=True)
class Of:
    """What the sheet is of: the farm, the period and the store in words, and the moment that it was counted."""

    farm: str
    period: str
    at: datetime
    size: str = "A4"


def charts_pdf(of: Of, charts: Iterable[tuple[Titled, Figures]]) -> bytes:
    """Each chart begins a page."""
    size = SIZES.get(of.size, A4)
    foot = Foot(PAGE_FOOT.x, PAGE_FOOT.y, size[0] - 2 * MARGIN)
    paper = Paper(_("Charts"), of.farm, foot, size)
    for chart, figures in charts:
        paper.bookmarkPage(chart.name)
        paper.addOutlineEntry(_(chart.title), chart.name)
        _Sheet(paper, of, chart, size).write(figures)
    return paper.finish()


class _Sheet:
    def __init__(self, paper: Paper, of: Of, chart: Titled, size: tuple[float, float]) -> None:
        self.paper, self.of, self.chart = paper, of, chart
        self.room, self.top = size[0] - 2 * MARGIN, size[1] - MARGIN
        self.writing = Writing(paper, self._head)

    def write(self, figures: Figures) -> None:
        for line in fonts.wrapped(_(self.chart.about), fonts.PLAIN, self.room * mm, ABOUT_SIZE, 6):
            self.paper.text(MARGIN, self.writing.down(4.6), line, size=ABOUT_SIZE)
        if figures.bars is None:
            self.paper.text(MARGIN, self.writing.down(2 * LINE), _(self.chart.empty), font=BOLD, size=11)
        else:
            self._draw(figures)
            self._table(figures)
        self.writing.done()

    def _head(self, paper: Paper) -> float:
        paper.text(MARGIN, self.top - 6, _(self.chart.title), font=BOLD, size=15, room=self.room)
        counted = date_format(timezone.localtime(self.of.at), _("j F Y H:i"))
        said = _("%(period)s. Counted %(at)s.") % {"period": self.of.period, "at": counted}
        paper.text(MARGIN, self.top - 12, f"{self.of.farm} · {said}", size=9, room=self.room)
        paper.rule(MARGIN, self.top - 14, self.room)
        return self.top - 16

    def _draw(self, figures: Figures) -> None:
        """As large as the page allows: a drawing is never cut in two."""
        assert figures.bars is not None  # noqa: S101 asked by the caller
        made = drawing(figures.bars)
        left = self.writing.y - PAGE_END - 2 * LINE
        scale = min(1.1, self.room * mm / WIDTH, left * mm / made.height)
        made.scale(scale, scale)
        y = self.writing.down(made.height * scale / mm + LINE)
        renderPDF.draw(made, self.paper, MARGIN * mm, y * mm)
        if figures.left_out:
            words = _("Not drawn, but in the table: %(n)d lines.") % {"n": figures.left_out}
            self.paper.text(MARGIN, self.writing.down(LINE), words, size=ABOUT_SIZE)

    def _table(self, of: Figures) -> None:
        self.writing.keep(3 * LINE)
        self._line(of.head, of.labels, BOLD)
        for row in of.rows:
            if self.writing.y - LINE < PAGE_END:
                self.writing.keep(2 * LINE)
                self._line(of.head, of.labels, BOLD)
            self._line(row, of.labels)

    def _line(self, cells: Sequence[str | int], labels: int, font: str = fonts.PLAIN) -> None:
        y = self.writing.down(LINE)
        each = self.room / len(cells)
        for place, cell in enumerate(cells):
            x, align = (place * each, "left") if place < labels else ((place + 1) * each - 2, "right")
            self.paper.text(
                MARGIN + x,
                y + 1.8,
                str(cell),
                font=font,
                room=each - 2,
                smallest=6,
                align=cast("Align", align),
            )
        self.paper.rule(MARGIN, y, self.room, 0.3)
