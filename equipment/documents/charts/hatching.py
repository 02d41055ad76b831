"""Fills that can be told apart in black and white: a chart never speaks by colour alone."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from reportlab.graphics.shapes import Circle, Group, Line, Rect

from equipment.documents.page import INK

GAP = 4.0


@dataclass(frozen=True, slots=True)
class Box:
    """In points, from its lower left corner."""

    x: float
    y: float
    width: float
    height: float


def filled(box: Box, pattern: int) -> Group:
    """The box, outlined, in one of `len(PATTERNS)` patterns; they begin again after the last."""
    solid = pattern % len(PATTERNS) == 0
    outline = Rect(
        box.x,
        box.y,
        box.width,
        box.height,
        fillColor=INK if solid else None,
        strokeColor=INK,
        strokeWidth=0.6,
    )
    return Group(outline, *PATTERNS[pattern % len(PATTERNS)](box))


def _nothing(_box: Box) -> Iterator[Line]:
    return iter(())


def _rising(box: Box) -> Iterator[Line]:
    """Diagonals, cut off at the sides of the box."""
    at = box.x - box.height + GAP
    while at < box.x + box.width:
        left, right = max(at, box.x), min(at + box.height, box.x + box.width)
        yield _line(left, box.y + left - at, right, box.y + right - at)
        at += GAP


def _upright(box: Box) -> Iterator[Line]:
    for at in _steps(box.x, box.width, GAP):
        yield _line(at, box.y, at, box.y + box.height)


def _lying(box: Box) -> Iterator[Line]:
    for at in _steps(box.y, box.height, GAP * 0.75):
        yield _line(box.x, at, box.x + box.width, at)


def _crossed(box: Box) -> Iterator[Line]:
    yield from _upright(box)
    yield from _lying(box)


def _dotted(box: Box) -> Iterator[Circle]:
    for at in _steps(box.x, box.width, GAP):
        yield Circle(at, box.y + box.height / 2, 0.9, fillColor=INK, strokeColor=None)


def _steps(start: float, length: float, gap: float) -> Iterator[float]:
    count = int(length / gap)
    return (start + gap * n for n in range(1, count + 1) if gap * n < length)


def _line(x: float, y: float, to_x: float, to_y: float) -> Line:
    return Line(x, y, to_x, to_y, strokeColor=INK, strokeWidth=0.7)


PATTERNS: tuple[Callable[[Box], Iterator[Line | Circle]], ...] = (
    _nothing,
    _rising,
    _nothing,
    _upright,
    _dotted,
    _lying,
    _crossed,
)
