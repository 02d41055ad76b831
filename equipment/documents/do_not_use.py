"""The slip that an unfit piece wears until it is passed: four on an A4 sheet, to cut apart. Read in black and white."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from reportlab.lib.colors import white
from reportlab.lib.units import mm

from equipment.documents import fonts, symbols
from equipment.documents.fonts import BOLD, MONO, PLAIN
from equipment.documents.page import A4, BLACK, MARGIN, PAGE_END, Paper

COLUMNS, ROWS = 2, 2
WIDTH, HEIGHT = (A4[0] - 2 * MARGIN) / COLUMNS, (A4[1] - MARGIN - PAGE_END) / ROWS
PAD, BAND, SYMBOL = 5.0, 17.0, 27.0
ROOM = WIDTH - 2 * PAD
# Lines for the mender and for whoever passes the piece stand at the foot, whatever stands above.
FOOT = 33.0
LINE, SMALL = 4.4, 3.3
MOST_CAUTIONS = 3


@dataclass(frozen=True)
class Wrong:
    """One thing that is wrong: in words, `found` when (local time) and `by` whom, and how it must not be mended."""

    what: str
    found: datetime | None = None
    by: str = ""
    never: str = ""


@dataclass(frozen=True)
class DoNotUse:
    """An unfit piece. `what` is its kind, make and size; `passing` says who lets it go, `cautions` what can hurt."""

    tag: str
    what: str
    wrongs: tuple[Wrong, ...]
    passing: str = ""
    cautions: tuple[str, ...] = ()


def do_not_use_slips(slips: Sequence[DoNotUse], farm: str, url_base: str = "") -> bytes:
    """A4, four to a page. `url_base` as in `symbols.for_room`. ValueError where there is nothing to print."""
    if not slips:
        raise ValueError(_("No piece here is unfit: there is nothing to print."))
    paper = Paper(_("Do not use"), farm)
    places = COLUMNS * ROWS
    for first in range(0, len(slips), places):
        _cuts(paper)
        for place, slip in enumerate(slips[first : first + places]):
            row, column = divmod(place, COLUMNS)
            corner = MARGIN + column * WIDTH, A4[1] - MARGIN - (row + 1) * HEIGHT
            _slip(paper, corner, slip, url_base)
        paper.showPage()
    return paper.finish()


def _cuts(paper: Paper) -> None:
    """Where to cut: dashed lines between the slips and round them."""
    paper.saveState()
    paper.setDash(2, 3)
    for row in range(ROWS + 1):
        paper.rule(MARGIN, PAGE_END + row * HEIGHT, COLUMNS * WIDTH)
    for column in range(COLUMNS + 1):
        paper.upright(MARGIN + column * WIDTH, PAGE_END, ROWS * HEIGHT)
    paper.restoreState()


def _slip(paper: Paper, corner: tuple[float, float], slip: DoNotUse, url_base: str) -> None:
    x, y = corner[0] + PAD, corner[1]
    top = _head(paper, x, y + HEIGHT - PAD)
    top = _piece(paper, x, top, slip, url_base)
    writing = _Lines(paper, x, top, _cautions(paper, x, y + FOOT, slip.cautions))
    for number, wrong in enumerate(slip.wrongs):
        more = len(slip.wrongs) - number - 1
        if not _wrong(writing, wrong, room_for_more=more > 0):
            writing.last(_("and %(n)d more: see its page") % {"n": more + 1})
            break
    else:
        for never in dict.fromkeys(wrong.never for wrong in slip.wrongs if wrong.never):
            writing.put(never, PLAIN, 8.5, SMALL + 0.4)
    _foot(paper, x, y, slip.passing)


def _head(paper: Paper, x: float, top: float) -> float:
    """White on black: nobody takes it for another label."""
    paper.setFillColor(BLACK)
    paper.rect(x * mm, (top - BAND) * mm, ROOM * mm, BAND * mm, stroke=0, fill=1)
    paper.setFillColor(white)
    middle, y = x + ROOM / 2, top - BAND + 5
    words = _("Do not use").upper()
    paper.text(middle, y, words, font=BOLD, size=32, room=ROOM - 6, smallest=14, align="middle")
    paper.setFillColor(BLACK)
    words = _("Do not take this slip off before the piece is passed.")
    paper.text(middle, top - BAND - 5, words, font=BOLD, size=9.5, room=ROOM, smallest=6, align="middle")
    return top - BAND - 7


def _piece(paper: Paper, x: float, top: float, slip: DoNotUse, url_base: str) -> float:
    room = ROOM - SYMBOL - 1
    symbols.draw_quiet(
        paper, symbols.for_room(slip.tag, url_base, SYMBOL), x + room + 1, top - SYMBOL, SYMBOL
    )
    paper.text(x, top - 10, slip.tag, font=MONO, size=22, room=room, smallest=12)
    y = top - 17
    for line in fonts.wrapped(paper.said(slip.what), PLAIN, room * mm, 11, 3):
        paper.text(x, y, line, size=11)
        y -= 5
    return top - SYMBOL


def _cautions(paper: Paper, x: float, foot: float, cautions: Sequence[str]) -> float:
    """Above the foot, before anything else takes their room; returns the height at which they begin."""
    lines = [
        line
        for caution in cautions[:MOST_CAUTIONS]
        for line in fonts.wrapped(paper.said(f"• {caution}"), PLAIN, ROOM * mm, 7.5, 3)
    ]
    for number, line in enumerate(reversed(lines)):
        paper.text(x, foot + 1.5 + number * SMALL, line, size=7.5)
    return foot + len(lines) * SMALL + 2


def _wrong(writing: "_Lines", wrong: Wrong, room_for_more: bool) -> bool:
    """Whether it found room, and left some to say that there is more."""
    found = ""
    if wrong.found is not None:
        words = {"when": date_format(wrong.found, _("j F Y H:i")), "by": wrong.by}
        found = (_("found %(when)s by %(by)s") if wrong.by else _("found %(when)s")) % words
    if not writing.fits(LINE + 0.8 + (LINE if found else 0) + (LINE if room_for_more else 0)):
        return False
    writing.put(wrong.what, BOLD, 12, LINE + 0.8)
    if found:
        writing.put(found, PLAIN, 9, LINE - 0.4)
    return True


def _foot(paper: Paper, x: float, y: float, passing: str) -> None:
    """Where the mender and whoever passes the piece write, and who that may be."""
    paper.rule(x, y + FOOT - 1, ROOM, 0.8)
    paper.text(x, y + FOOT - 6.5, _("Mended: how"), font=BOLD, size=8)
    paper.rule(x + 22, y + FOOT - 7.5, ROOM - 22)
    _sign(paper, x, y + FOOT - 15, _("Mended by"))
    _sign(paper, x, y + FOOT - 22.5, _("Passed by"))
    lines = fonts.wrapped(paper.said(passing), PLAIN, ROOM * mm, 8, 2) if passing else []
    for number, line in enumerate(lines):
        paper.text(x, y + FOOT - 26.5 - number * SMALL, line, size=8)


def _sign(paper: Paper, x: float, y: float, who: str) -> None:
    paper.text(x, y + 1, who, font=BOLD, size=8)
    paper.rule(x + 22, y, ROOM - 22 - 32)
    paper.text(x + ROOM - 30, y + 1, _("date"), size=8)
    paper.rule(x + ROOM - 21, y, 21)


class _Lines:
    """Lines one under the other from `top` down to `end`; what finds no room is left off."""

    def __init__(self, paper: Paper, x: float, top: float, end: float) -> None:
        self.paper, self.x, self.y, self.end = paper, x, top, end

    def fits(self, height: float) -> bool:
        return self.y - height >= self.end

    def put(self, text: str, font: str, size: float, height: float) -> None:
        lines = fonts.wrapped(self.paper.said(text), font, ROOM * mm, size, 3)
        if not self.fits(len(lines) * height):
            return
        for line in lines:
            self.y -= height
            self.paper.text(self.x, self.y, line, font=font, size=size)
        self.y -= 0.6

    def last(self, text: str) -> None:
        """In the room that is always left for it."""
        self.paper.text(self.x, self.end + 0.8, text, font=BOLD, size=9, room=ROOM, smallest=6)
