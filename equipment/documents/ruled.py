"""Ruled lines with columns: rows of text that never split over two pages."""

from collections.abc import Sequence
from dataclasses import dataclass

from equipment.documents.fonts import BOLD, PLAIN
from equipment.documents.page import A4, INK, MARGIN, RULING, Paper

WIDTH = A4[0] - 2 * MARGIN


@dataclass(frozen=True)
class Column:
    """`x` and `room` in mm; what is too long for `room` shrinks a little, then is cut short."""

    head: str
    x: float
    room: float
    font: str = PLAIN
    size: float = 9


def heads(paper: Paper, y: float, columns: Sequence[Column]) -> None:
    """Column heads with their baseline 1.6 mm above `y`, and a dark rule at `y`."""
    for column in columns:
        paper.text(column.x, y + 1.6, column.head, font=BOLD, size=8, room=column.room - 1, smallest=5.5)
    rule(paper, y, dark=True)


def row(paper: Paper, y: float, columns: Sequence[Column], cells: Sequence[str]) -> None:
    """One line of the book, ruled at `y`."""
    for column, cell in zip(columns, cells, strict=True):
        room, size = column.room - 1, column.size
        paper.text(column.x, y + 1.7, cell, font=column.font, size=size, room=room, smallest=size * 0.7)
    rule(paper, y)


def rule(paper: Paper, y: float, dark: bool = False) -> None:
    paper.saveState()
    paper.setStrokeColor(INK if dark else RULING)
    paper.rule(MARGIN, y, WIDTH, 0.8 if dark else 0.4)
    paper.restoreState()
