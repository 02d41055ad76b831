"""Labels for gear: on A4 sheets, on rolls, and tiny ones for clippers."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from django.utils.translation import gettext as _
from reportlab.lib.units import mm

from equipment.documents import fonts, symbols
from equipment.documents.fonts import BOLD, MONO, PLAIN
from equipment.documents.layouts import TINY, Layout, Roll
from equipment.documents.page import RULING, Align, Paper

PAD = 1.5
# Height of a capital in the face for codes, in ems; type size in points to a millimetre of line.
CAPITALS, POINTS = 0.7, 2.2
MAY_SHRINK = 0.82
# Clippers: a symbol of exactly this side, for a printer of 300 dots to the inch or more (nearly seven dots a module).
TINY_SYMBOL = 12.0
TINY_LEAST = TINY_SYMBOL + 2 * PAD
LEAST_WIDTH, LEAST_HEIGHT = 30.0, 16.0


@dataclass(frozen=True)
class LabelRow:
    """One label: the code, and lines in order of worth (kind, make, size ...); what finds no room is left off."""

    code: str
    lines: tuple[str, ...] = ()


@dataclass(frozen=True)
class Start:
    """A sheet that was used before: begin at place `place`, and skip the places in `used`; on the first sheet only."""

    place: int = 1
    used: frozenset[int] = frozenset()


@dataclass(frozen=True)
class Area:
    """A rectangle on the paper, in mm from its lower left corner."""

    x: float
    y: float
    width: float
    height: float


FRESH = Start()
Row = TypeVar("Row")


def label_sheets(
    rows: Sequence[LabelRow], layout: Layout, farm: str, start: Start = FRESH, url_base: str = ""
) -> bytes:
    """A4 sheets of `layout`. `url_base` as in `symbols.for_room`. ValueError where `start` is not on the sheet."""

    def draw(paper: Paper, area: Area, row: LabelRow) -> None:
        _label(paper, area, row, url_base)

    return fill_sheets(rows, layout, Paper(_("Labels"), farm, layout.foot), draw, start)


def label_roll(rows: Sequence[LabelRow], roll: Roll, farm: str, url_base: str = "") -> bytes:
    """One label a page. ValueError where the roll is too small for a label with lines."""
    if roll.width < LEAST_WIDTH or roll.height < LEAST_HEIGHT:
        raise ValueError(
            _("A label needs at least %(width)g x %(height)g mm. For less, print tiny labels.")
            % {"width": LEAST_WIDTH, "height": LEAST_HEIGHT}
        )

    def draw(paper: Paper, area: Area, row: LabelRow) -> None:
        _label(paper, area, row, url_base)

    return _fill_roll(rows, roll, farm, draw)


def tiny_sheets(rows: Sequence[LabelRow], farm: str, layout: Layout = TINY, start: Start = FRESH) -> bytes:
    """A4 sheets of tiny labels; those of `TINY` lie edge to edge and are cut apart along the crosses."""
    paper = Paper(_("Tiny labels"), farm, layout.foot)
    crosses = _crosses if layout.gap_x == layout.gap_y == 0 else None
    return fill_sheets(rows, layout, paper, _tiny, start, crosses)


def tiny_roll(rows: Sequence[LabelRow], roll: Roll, farm: str) -> bytes:
    """One tiny label a page. ValueError where the roll is too small for the symbol and its code."""
    tall = roll.width >= TINY_LEAST and roll.height >= TINY_LEAST + 3
    wide = roll.width >= TINY_LEAST + 9 and roll.height >= TINY_LEAST
    if not (tall or wide):
        message = _(
            "A tiny label needs at least %(tall)s mm, or %(wide)s mm with the code beside the symbol."
        )
        sizes = {
            "tall": f"{TINY_LEAST:g} x {TINY_LEAST + 3:g}",
            "wide": f"{TINY_LEAST + 9:g} x {TINY_LEAST:g}",
        }
        raise ValueError(message % sizes)
    return _fill_roll(rows, roll, farm, _tiny)


def fill_sheets(
    rows: Sequence[Row],
    layout: Layout,
    paper: Paper,
    draw: Callable[[Paper, Area, Row], None],
    start: Start,
    marks: Callable[[Paper, Layout], None] | None = None,
) -> bytes:
    """Draw each row in the next free place of `layout`, and `marks` once a sheet.

    Raises ValueError where there is no row, or where `start` is not on the sheet.
    """
    ended = 0
    for row, (sheet, place) in zip(_some(rows), layout.free_places(start.place, start.used), strict=False):
        if sheet > ended + 1:
            _end_sheet(paper, layout, marks)
            ended += 1
        draw(paper, Area(*layout.corner(place), layout.width, layout.height), row)
    _end_sheet(paper, layout, marks)
    return paper.finish()


def _end_sheet(paper: Paper, layout: Layout, marks: Callable[[Paper, Layout], None] | None) -> None:
    if marks:
        marks(paper, layout)
    paper.showPage()


def _fill_roll(
    rows: Sequence[LabelRow], roll: Roll, farm: str, draw: Callable[[Paper, Area, LabelRow], None]
) -> bytes:
    paper = Paper(_("Labels"), farm, foot=None, size=(roll.width, roll.height))
    for row in _some(rows):
        draw(paper, Area(0, 0, roll.width, roll.height), row)
        paper.showPage()
    return paper.finish()


def _some(rows: Sequence[Row]) -> Sequence[Row]:
    if not rows:
        raise ValueError(_("There is nothing to print: choose at least one."))
    return rows


def _label(paper: Paper, area: Area, row: LabelRow, url_base: str) -> None:
    """The symbol with its quiet zone, and the words beside it, or below where the label is upright."""
    upright = area.height > area.width
    side = min(area.width - 2, area.height * 0.66) if upright else min(area.height - 1, area.width * 0.46)
    left = area.x + (area.width - side) / 2 if upright else area.x + 0.5
    bottom = area.y + area.height - side - 0.5 if upright else area.y + (area.height - side) / 2
    symbol = symbols.for_room(row.code, url_base, side)
    symbols.draw_quiet(paper, symbol, left, bottom, side)
    quiet = symbol.quiet_share * side
    foot = area.y + PAD
    if upright:
        _words(
            paper, Area(area.x + PAD, foot, area.width - 2 * PAD, bottom + quiet / 2 - foot), row, "middle"
        )
    else:
        _words(
            paper, Area(left + side, foot, area.width - side - PAD, bottom + side - quiet - foot), row, "left"
        )


def _words(paper: Paper, area: Area, row: LabelRow, align: Align) -> None:
    """The code as large as its room allows, then as many of the lines as there is height for."""
    x = area.x + (area.width / 2 if align == "middle" else 0)
    size = min(22.0, area.height * 0.8, area.width * mm / fonts.width(row.code, MONO, 1))
    step = max(2.8, min(4.0, area.height / 5.5))
    y = area.y + area.height - size * CAPITALS / mm
    paper.text(x, y, row.code, font=MONO, size=size, align=align)
    room_for = int((y - area.y - 0.4) / step)
    for font, line in _set(paper, row, area.width * mm, step * POINTS)[:room_for]:
        y -= step
        paper.text(x, y - 0.4, line, font=font, size=step * POINTS, room=area.width, smallest=4, align=align)


def _set(paper: Paper, row: LabelRow, room: float, size: float) -> list[tuple[str, str]]:
    """(font, line) pairs: the first of the row's lines bold; one that is a little too long will shrink, not break.

    A roll has no foot to explain a gap, so a label on a roll does.
    """
    said = [paper.said(line) for line in row.lines if line]
    fitting = []
    for number, line in enumerate(said):
        font = PLAIN if number else BOLD
        short = fonts.width(line, font, size * MAY_SHRINK) <= room
        fitting += [
            (font, piece) for piece in ([line] if short else fonts.wrapped(line, font, room, size, 2))
        ]
    if paper.foot is None and any(fonts.BY_HAND in line for line in said):
        fitting.insert(2, (PLAIN, _("%(gap)s: by hand") % {"gap": fonts.BY_HAND}))
    return fitting


def _tiny(paper: Paper, area: Area, row: LabelRow) -> None:
    """A symbol of exactly TINY_SYMBOL mm whose quiet zone is the bare paper around it, and the code in small type."""
    below = area.height >= TINY_LEAST + 3
    left = area.x + ((area.width - TINY_SYMBOL) / 2 if below else PAD)
    bottom = area.y + (area.height - PAD - TINY_SYMBOL if below else (area.height - TINY_SYMBOL) / 2)
    symbols.draw(paper, symbols.bare(row.code), left, bottom, TINY_SYMBOL)
    if below:
        middle, base, room = area.x + area.width / 2, bottom - 3, area.width - PAD
        paper.text(middle, base, row.code, font=MONO, size=8, room=room, smallest=4, align="middle")
    else:
        x, room = left + TINY_SYMBOL + PAD + 0.4, area.width - TINY_SYMBOL - 2.5 * PAD - 0.4
        paper.text(x, bottom + TINY_SYMBOL / 2 - 0.8, row.code, font=MONO, size=8, room=room, smallest=4)


def _crosses(paper: Paper, layout: Layout) -> None:
    """Small crosses where the labels of a sheet meet, to cut along."""
    paper.saveState()
    paper.setStrokeColor(RULING)
    paper.setLineWidth(0.3)
    for row in range(layout.rows + 1):
        for column in range(layout.columns + 1):
            x, y = layout.left + column * layout.width, layout.top + row * layout.height
            paper.line((x - 0.8) * mm, y * mm, (x + 0.8) * mm, y * mm)
            paper.line(x * mm, (y - 0.8) * mm, x * mm, (y + 0.8) * mm)
    paper.restoreState()
