"""Sheets of tags for a counter: a large symbol each, its words, and the key that does the same or what to look for."""

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.lib.units import mm

from equipment.documents import fonts, symbols
from equipment.documents.fonts import BOLD, MONO, PLAIN
from equipment.documents.page import A4, MARGIN, Paper

COLUMNS, ROWS = 2, 6
TOP = A4[1] - 28
WIDTH, HEIGHT, GAP = 93.0, 38.5, 2.6
SYMBOL = 37.5
WORD_SIZES = ((16, 2), (14, 2), (12, 3), (10, 3))
HINT_SIZES = ((9, 3), (8, 4), (7, 5))


@dataclass(frozen=True)
class TagRow:
    """`key` is the key that does the same, `hint` a sentence below the words; either may be empty."""

    code: str
    words: str
    key: str = ""
    hint: str = ""


@dataclass(frozen=True)
class Head:
    """What stands above the tags of a page: its title, and a line on how they are used."""

    title: str
    lead: str


def tag_pages(paper: Paper, head: Head, rows: Sequence[TagRow]) -> None:
    """As many pages as `rows` need, each under the same head."""
    a_page = COLUMNS * ROWS
    for first in range(0, len(rows), a_page):
        _head(paper, head)
        for place, tag in enumerate(rows[first : first + a_page]):
            row, column = divmod(place, COLUMNS)
            _tag(paper, MARGIN + column * (WIDTH + GAP), TOP - HEIGHT - row * (HEIGHT + GAP), tag)
        paper.showPage()


def _head(paper: Paper, head: Head) -> None:
    paper.text(MARGIN, A4[1] - 17, head.title, font=BOLD, size=18, room=110, smallest=12)
    paper.text(MARGIN, A4[1] - 23, head.lead, size=10, room=A4[0] - 2 * MARGIN, smallest=7)
    paper.text(A4[0] - MARGIN, A4[1] - 17, paper.farm, size=10, room=70, smallest=7, align="right")


def _tag(paper: Paper, x: float, y: float, tag: TagRow) -> None:
    paper.tag_shape(x, y, WIDTH, HEIGHT, 6, weight=1)
    symbols.draw_quiet(paper, symbols.bare(tag.code), x + 0.5, y + (HEIGHT - SYMBOL) / 2, SYMBOL)
    left, room = x + SYMBOL, WIDTH - SYMBOL - 3
    top = _lines(paper, tag.words, BOLD, WORD_SIZES, (left, y + HEIGHT - 3, room))
    if tag.hint:
        _lines(paper, tag.hint, PLAIN, HINT_SIZES, (left, top - 1.5, room))
    paper.text(left, y + 4, tag.code, font=MONO, size=11)
    if tag.key:
        paper.box(x + WIDTH - 18, y + 3.5, 14, 8, weight=1)
        paper.text(x + WIDTH - 11, y + 5.8, tag.key, font=BOLD, size=13, align="middle")


def _lines(
    paper: Paper,
    text: str,
    font: str,
    sizes: Sequence[tuple[float, int]],
    place: tuple[float, float, float],
) -> float:
    """Lines below the height and in the room of `place` (left, top, room); the height at which they end."""
    left, top, room = place
    lines, size = fonts.set_in(paper.said(text), font, room * mm, sizes)
    for line in lines:
        top -= size * 0.4
        paper.text(left, top, line, font=font, size=size)
    return top
