"""What every sheet of paper shares: type that fits its room, the foot with its 100 mm rule, and ruled lines.

Everything is measured in millimetres from the lower left corner; type sizes are in points.
"""

from collections.abc import Callable
from dataclasses import dataclass
from io import BytesIO
from typing import Any, Literal

from django.utils.translation import get_language
from django.utils.translation import gettext as _
from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from equipment.documents import fonts
from equipment.documents.fonts import PLAIN

A4 = (210.0, 297.0)
MARGIN = 10.0
BLACK, INK, RULING = HexColor("#000000"), HexColor("#1F2A24"), HexColor("#9AA694")
CHECK_RULE = 100
FOOT_SIZE = 6.0

Align = Literal["left", "middle", "right"]


@dataclass(frozen=True)
class Foot:
    """Where the foot's one line stands: from (x, y), `length` mm long, upright or turned to run up the page."""

    x: float
    y: float
    length: float
    turned: bool = False


PAGE_FOOT = Foot(MARGIN, 8, A4[0] - 2 * MARGIN)
# Where text of a page ends, above its foot.
PAGE_END = 16.0


class Paper(Canvas):
    """A PDF document whose foot knows how many pages there are, because it is drawn last.

    `foot` None is for label rolls: nothing but the label.
    """

    def __init__(
        self, title: str, farm: str, foot: Foot | None = PAGE_FOOT, size: tuple[float, float] = A4
    ) -> None:
        fonts.register()
        self.made = BytesIO()
        super().__init__(self.made, pagesize=(size[0] * mm, size[1] * mm), lang=get_language() or "en")
        self.title, self.farm, self.foot = title, farm, foot
        self.by_hand = False
        self.pages: list[dict[str, Any]] = []
        self.setTitle(title)
        self.setAuthor(farm)
        self.setCreator("Shedbook")
        # A print dialogue that honours this opens at actual size; the 100 mm rule tells where it did not.
        self.setViewerPreference("PrintScaling", "None")

    def showPage(self) -> None:  # noqa: N802 (reportlab's name)
        self.pages.append(dict(self.__dict__))
        self._startPage()
        self.by_hand = False

    def finish(self) -> bytes:
        """The whole document; every page must have been ended with showPage."""
        for number, page in enumerate(self.pages, start=1):
            self.__dict__.update(page)
            if self.foot:
                self._draw_foot(self.foot, number)
            super().showPage()
        self.save()
        return self.made.getvalue()

    def text(
        self, x: float, y: float, text: str, *, font: str = PLAIN, size: float = 9, room: float = 0,
        smallest: float = 0, align: Align = "left",
    ) -> None:  # fmt: skip
        """One line at baseline `y`. It shrinks to `smallest` to fit `room` mm (0: any), then is cut short."""
        text = self.said(text)
        if room:
            text, size = fonts.fitted(text, font, room * mm, size, smallest or size)
        self.setFont(font, size)
        draw = {"left": self.drawString, "middle": self.drawCentredString, "right": self.drawRightString}[
            align
        ]
        draw(x * mm, y * mm, text)

    def said(self, text: str) -> str:
        """`text` as it can be printed; the page remembers when a gap was left to fill by hand."""
        shown = fonts.printable(text)
        self.by_hand = self.by_hand or (shown is not text and fonts.BY_HAND in shown)
        return shown

    def rule(self, x: float, y: float, length: float, weight: float = 0.4) -> None:
        """A horizontal line; `weight` in points."""
        self.setLineWidth(weight)
        self.line(x * mm, y * mm, (x + length) * mm, y * mm)

    def upright(self, x: float, y: float, height: float, weight: float = 0.4) -> None:
        """A vertical line; `weight` in points."""
        self.setLineWidth(weight)
        self.line(x * mm, y * mm, x * mm, (y + height) * mm)

    def box(self, x: float, y: float, width: float, height: float, weight: float = 0.7) -> None:
        self.setLineWidth(weight)
        self.rect(x * mm, y * mm, width * mm, height * mm, stroke=1, fill=0)

    def tag_shape(
        self, x: float, y: float, width: float, height: float, cut: float, weight: float = 0.6
    ) -> None:
        """The outline of a tag: a rectangle whose upper left corner is cut off by `cut` mm."""
        self.setLineWidth(weight)
        path = self.beginPath()
        path.moveTo(x * mm, y * mm)
        for across, up in ((width, 0), (width, height), (cut, height), (0, height - cut)):
            path.lineTo((x + across) * mm, (y + up) * mm)
        path.close()
        self.drawPath(path, stroke=1, fill=0)

    def _draw_foot(self, foot: Foot, number: int) -> None:
        self.saveState()
        self.setFillColor(BLACK)
        self.setStrokeColor(BLACK)
        self.translate(foot.x * mm, foot.y * mm)
        if foot.turned:
            self.rotate(90)
        self._draw_check_rule()
        self.text(
            CHECK_RULE + 2, 0, self._foot_words(number, (foot.length - CHECK_RULE - 2) * mm), size=FOOT_SIZE
        )
        self.restoreState()

    def _foot_words(self, number: int, room: float) -> str:
        """As many of these as find `room` points, the first ones first."""
        count = _("page %(number)d of %(count)d") % {"number": number, "count": len(self.pages)}
        note = _("%(gap)s: no type for it, write by hand") % {"gap": fonts.BY_HAND}
        line = _("100 mm, or print at actual size")
        for words in (
            count if len(self.pages) > 1 else "",
            note if self.by_hand else "",
            self.title,
            self.farm,
        ):
            longer = f"{line} · {words}"
            if words and fonts.width(fonts.printable(longer), PLAIN, FOOT_SIZE) <= room:
                line = longer
        return line

    def _draw_check_rule(self) -> None:
        """CHECK_RULE mm from end to end, a tick each 10 mm: a person lays a ruler on it."""
        self.rule(0, 0.8, CHECK_RULE, 0.5)
        for at in range(0, CHECK_RULE + 1, 10):
            tall = 1.2 if at % CHECK_RULE == 0 else 0.7
            self.upright(at, 0.8 - tall, 2 * tall, 0.5)


class Writing:
    """Lines written down a page, one under the other; a line that no longer fits begins the next page.

    `head` draws the top of a page and returns the height at which writing begins; it is drawn again on every page.
    """

    def __init__(self, paper: Paper, head: Callable[[Paper], float]) -> None:
        self.paper, self.head = paper, head
        self.y = head(paper)

    def down(self, height: float) -> float:
        """Take `height` mm, on the next page if this one has no room; returns the lower edge."""
        self.keep(height)
        self.y -= height
        return self.y

    def keep(self, height: float) -> None:
        """Begin the next page unless this one still has room for `height` mm."""
        if self.y - height < PAGE_END:
            self.paper.showPage()
            self.y = self.head(self.paper)

    def done(self) -> None:
        self.paper.showPage()
