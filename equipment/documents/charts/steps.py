"""A share that falls by steps, with its limits: one drawing for paper and for the page.

The share is a thick line, the limits thin broken ones; no colour has to be seen.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.graphics.shapes import Drawing, Line, PolyLine, String

from equipment.documents.charts.bars import SIZE, WIDTH
from equipment.documents.page import INK, RULING

LEFT, BOTTOM, TOP, RIGHT = 52.0, 44.0, 12.0, 8.0
HEIGHT = 220.0
QUARTERS = (0, 25, 50, 75, 100)


@dataclass(frozen=True, slots=True)
class Steps:
    """`times` rise from above 0; the shares at and after each, from 1 before the first. `law` are points of a smooth
    curve beside it, dotted. `along` says what runs below, `up` is the sign after the shares ("%")."""

    times: Sequence[float]
    shares: Sequence[float]
    lower: Sequence[float]
    upper: Sequence[float]
    along: str
    law: Sequence[tuple[float, float]] = ()
    up: str = " %"
    height: float = HEIGHT

    def drawing(self, font: str) -> Drawing:
        made = Drawing(WIDTH, self.height)
        for quarter in QUARTERS:
            y = self._y(quarter / 100)
            made.add(Line(LEFT, y, WIDTH - RIGHT, y, strokeColor=RULING, strokeWidth=0.6))
            made.add(_text(LEFT - 6, y - 4, f"{quarter}{self.up}", font, "end"))
        for hours in _marks(self.times[-1]):
            x = self._x(hours)
            made.add(Line(x, BOTTOM, x, BOTTOM - 4, strokeColor=INK, strokeWidth=0.8))
            made.add(_text(x, BOTTOM - 18, f"{hours:g}", font, "middle"))
        made.add(_text((LEFT + WIDTH - RIGHT) / 2, 6, self.along, font, "middle"))
        for shares in (self.lower, self.upper):
            made.add(self._steps(shares, width=0.8, dash=(4, 3)))
        if self.law:
            flat = [each for hours, share in self.law for each in (self._x(hours), self._y(share))]
            made.add(PolyLine(flat, strokeColor=INK, strokeWidth=1.2, strokeDashArray=(1, 3)))
        made.add(self._steps(self.shares, width=2.4))
        return made

    def _steps(self, shares: Sequence[float], width: float, dash: tuple[int, int] | None = None) -> PolyLine:
        points, at = [self._x(0), self._y(1)], 1.0
        for hours, share in zip(self.times, shares, strict=True):
            points += [self._x(hours), self._y(at), self._x(hours), self._y(share)]
            at = share
        return PolyLine(points, strokeColor=INK, strokeWidth=width, strokeDashArray=dash)

    def _x(self, hours: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * hours / self.times[-1]

    def _y(self, share: float) -> float:
        return BOTTOM + (self.height - BOTTOM - TOP) * share


def _marks(longest: float) -> list[float]:
    """Round hours along the foot, four to nine of them."""
    step = 1.0
    while longest / step > 9:
        step *= 2.5 if f"{step:e}".startswith("2") else 2
    while longest / step < 4:
        step /= 2
    return [step * n for n in range(int(longest / step + 1e-9) + 1)]


def _text(x: float, y: float, words: str, font: str, anchor: str) -> String:
    return String(x, y, words, fontName=font, fontSize=SIZE * 0.85, fillColor=INK, textAnchor=anchor)
