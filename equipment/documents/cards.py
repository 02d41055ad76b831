"""Cards of 85.6 x 54 mm, ten on a sheet: picker badges, day cards, set tags and crew tags."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _
from reportlab.lib.units import mm

from equipment.documents import fonts, symbols
from equipment.documents.fonts import BOLD, MONO
from equipment.documents.labels import FRESH, Area, Start, fill_sheets
from equipment.documents.layouts import CARDS
from equipment.documents.page import RULING, Paper

PAD = 4.0
CUT = 7.0
SYMBOL = 35.0
NAME_SIZES = ((15.0, 2), (13.0, 2), (11.5, 3), (9.5, 3), (8.0, 3))


@dataclass(frozen=True)
class BadgeRow:
    """A picker's badge. A day card (`day_card`) has no name: it is lent to another person every day."""

    code: str
    name: str = ""
    crew: str = ""
    day_card: bool = False


@dataclass(frozen=True)
class TagRow:
    """A set or crew tag: what it is called, and one line more (what is packed in it, who supervises)."""

    code: str
    name: str
    line: str = ""


@dataclass(frozen=True)
class _Face:
    code: str
    what: str
    name: str
    line: str
    hole: bool = False


def picker_badges(rows: Sequence[BadgeRow], farm: str, start: Start = FRESH) -> bytes:
    faces = [
        _Face(row.code, _("Day card"), "", "")
        if row.day_card
        else _Face(row.code, _("Picker"), row.name, row.crew)
        for row in rows
    ]
    return _cards(faces, _("Badges"), farm, start)


def set_tags(rows: Sequence[TagRow], farm: str, start: Start = FRESH) -> bytes:
    return _cards(
        [_Face(r.code, _("Set"), r.name, r.line, hole=True) for r in rows], _("Set tags"), farm, start
    )


def crew_tags(rows: Sequence[TagRow], farm: str, start: Start = FRESH) -> bytes:
    return _cards(
        [_Face(r.code, _("Crew"), r.name, r.line, hole=True) for r in rows], _("Crew tags"), farm, start
    )


def _cards(faces: Sequence[_Face], title: str, farm: str, start: Start) -> bytes:
    return fill_sheets(faces, CARDS, Paper(title, farm, CARDS.foot), _card, start)


def _card(paper: Paper, area: Area, face: _Face) -> None:
    """Farm and name on the left, the symbol on the right, the code below in a tag of its own."""
    paper.tag_shape(area.x, area.y, area.width, area.height, CUT)
    if face.hole:
        _punch_mark(paper, area)
    words = Area(area.x + PAD, area.y, area.width - SYMBOL - PAD, area.height)
    top = area.y + area.height
    left = words.x + (CUT if face.hole else CUT - PAD)
    paper.text(left, top - 6.5, paper.farm, size=9, room=area.x + area.width - PAD - left, smallest=6.5)
    paper.saveState()
    paper.setStrokeColor(RULING)
    paper.rule(words.x, top - 9, area.width - 2 * PAD)
    paper.restoreState()
    symbols.draw_quiet(paper, symbols.bare(face.code), area.x + area.width - SYMBOL, area.y + 5, SYMBOL)
    paper.text(words.x, top - 14.5, face.what, size=9, room=words.width)
    if face.name:
        _name(paper, words, face)
    else:
        _blanks(paper, words)
    _code(paper, words, face.code)


def _name(paper: Paper, words: Area, face: _Face) -> None:
    name, y = paper.said(face.name), words.y + words.height - 15.5
    if name == fonts.BY_HAND:
        paper.rule(words.x, y - 8, words.width)
    else:
        lines, size = fonts.set_in(name, BOLD, words.width * mm, NAME_SIZES)
        for line in lines:
            y -= size * 0.42
            paper.text(words.x, y, line, font=BOLD, size=size)
    paper.text(words.x, words.y + 16.5, face.line, size=10, room=words.width, smallest=7)


def _blanks(paper: Paper, words: Area) -> None:
    """Lines to write on: who has the card today."""
    for up, word in ((27, _("Name")), (17.5, _("Day"))):
        paper.text(words.x, words.y + up, word, size=8)
        paper.rule(words.x + 10, words.y + up - 0.6, words.width - 10)


def _code(paper: Paper, words: Area, code: str) -> None:
    paper.tag_shape(words.x, words.y + PAD, words.width, 10, 2.5)
    size = min(20.0, (words.width - 5) * mm / fonts.width(code, MONO, 1))
    paper.text(
        words.x + words.width / 2, words.y + PAD + 5 - size * 0.12, code, font=MONO, size=size, align="middle"
    )


def _punch_mark(paper: Paper, area: Area) -> None:
    """Where the hole for the string goes."""
    paper.setLineWidth(0.4)
    paper.circle((area.x + 7) * mm, (area.y + area.height - 6) * mm, 2 * mm)
