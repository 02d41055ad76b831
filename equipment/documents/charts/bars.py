"""Bars that lie, each with its words before it and its figure behind it: one drawing for paper and for the page.

In points, 360 wide: so the words can still be read on a phone.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from reportlab.graphics import renderSVG
from reportlab.graphics.shapes import Drawing, String

from equipment.documents import fonts
from equipment.documents.charts.hatching import Box, filled
from equipment.documents.page import INK

WIDTH, SIZE = 360.0, 13.0
BAR, PITCH, WORDS_ABOVE = 12.0, 22.0, 16.0
# On the page the browser sets the words in its own type.
ON_THE_PAGE = "Helvetica"


class Drawn(Protocol):
    """What a chart is drawn as: WIDTH points wide."""

    @property
    def height(self) -> float: ...

    def drawing(self, font: str) -> Drawing: ...


@dataclass(frozen=True, slots=True)
class Bar:
    """`parts` are shares of the room for bars, each with its pattern (see `hatching`); they add up to 1 at most."""

    words: str
    parts: Sequence[tuple[float, int]]
    figure: str


@dataclass(frozen=True, slots=True)
class Bars:
    """`before` and `behind` are the room for words and figures in points; `before` 0: the words stand above their bar.
    `key` says what the patterns mean."""

    rows: Sequence[Bar]
    before: float
    behind: float
    key: Sequence[tuple[int, str]] = ()

    @property
    def pitch(self) -> float:
        return PITCH if self.before else PITCH + WORDS_ABOVE

    @property
    def height(self) -> float:
        return self.pitch * len(self.rows) + (PITCH * len(self.key) + BAR if self.key else 0)

    def drawing(self, font: str) -> Drawing:
        made = Drawing(WIDTH, self.height)
        top = self.height
        for row in self.rows:
            top -= self.pitch
            _draw_row(made, self, row, top, font)
        for pattern, words in self.key:
            top -= PITCH
            made.add(filled(Box(0.5, top, 2 * BAR, BAR), pattern))
            made.add(_text(3 * BAR, top, words, WIDTH - 3 * BAR, font))
        return made


def drawing(drawn: Drawn, font: str = fonts.PLAIN) -> Drawing:
    fonts.register()
    return drawn.drawing(font)


def svg(drawn: Drawn, title: str, about: str) -> str:
    """As the page shows it, with its words for whoever opens it by itself."""
    made = renderSVG.drawToString(drawing(drawn, ON_THE_PAGE))
    for name, words in (("title", title), ("desc", about)):
        made = made.replace(f"<{name}>...</{name}>", f"<{name}>{_escaped(words)}</{name}>", 1)
    return str(made)


def _draw_row(made: Drawing, bars: Bars, row: Bar, y: float, font: str) -> None:
    room = WIDTH - bars.before - bars.behind - 2
    words_y = y if bars.before else y + WORDS_ABOVE
    made.add(_text(0, words_y, row.words, (bars.before or WIDTH) - 6, font))
    made.add(_text(WIDTH - bars.behind + 6, y, row.figure, bars.behind - 6, font))
    x = bars.before + 0.5
    for share, pattern in row.parts:
        if share > 0:
            made.add(filled(Box(x, y - 1, max(share * room, 1), BAR), pattern))
            x += share * room


def _text(x: float, y: float, words: str, room: float, font: str) -> String:
    shown, size = fonts.fitted(fonts.printable(words), font, room, SIZE, SIZE * 0.8)
    return String(x, y + 1, shown, fontName=font, fontSize=size, fillColor=INK)


def _escaped(words: str) -> str:
    return words.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
