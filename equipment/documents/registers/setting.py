"""Text set in the columns of a table: wrapped to their width, and nothing of it lost."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from django.utils.translation import gettext as _
from reportlab.lib.units import mm

from equipment.documents import fonts
from equipment.documents.fonts import BOLD, PLAIN
from equipment.models.registers import Column

SIZE, HEAD_SIZE = 7.5, 7.5
# In mm: between columns, and from line to line of a cell.
GAP, WIDE_GAP, STEP = 1.8, 3.2, 3.2
SMALLEST_HEAD = 5.5
# That of the line's place in the book: as wide as the longest place needs, within limits, in mm.
WHERE = Column("where", "", 0)
NARROWEST, WIDEST = 12.0, 36.0
# Columns narrower than this, in mm a share, want the page turned.
LEAST_SHARE = 19.5


@dataclass(frozen=True, slots=True)
class Place:
    """Where a column stands: `x` and `room` in mm."""

    column: Column
    x: float
    room: float


def where_room(places: Iterable[str]) -> float:
    """How wide the column of the place in the book must be for these, the last ones of the stores, in mm."""
    widest = max((fonts.width(place, PLAIN, SIZE) / mm for place in places), default=0.0)
    return min(WIDEST, max(NARROWEST, widest + GAP + 0.5))


def wants_turning(columns: Sequence[Column], width: float) -> bool:
    """Whether these columns ask for landscape where upright they have `width` mm."""
    return width / _shares(columns) < LEAST_SHARE


def side_by_side(columns: Sequence[Column], left: float, width: float) -> list[Place]:
    """The columns from `left` on, `width` mm in all, each wide by its share, but never so that a word of its head
    would have to be broken."""
    x, found = left, []
    for column, wide in zip(columns, _widths(columns, width), strict=True):
        found.append(Place(column, x, wide - _gap(column)))
        x += wide
    return found


def _widths(columns: Sequence[Column], width: float) -> list[float]:
    needs = [_longest_word(_(column.head)) + _gap(column) for column in columns]
    narrow: set[int] = set()
    while True:
        shares = sum(column.share for n, column in enumerate(columns) if n not in narrow)
        left = width - sum(needs[n] for n in narrow)
        if left <= 0 or not shares:
            return [width / _shares(columns) * column.share for column in columns]
        wide = [needs[n] if n in narrow else column.share * left / shares for n, column in enumerate(columns)]
        more = {n for n, need in enumerate(needs) if wide[n] < need} - narrow
        if not more:
            return wide
        narrow |= more


def _longest_word(head: str) -> float:
    """Its width in mm."""
    words = fonts.printable(head).split()
    return max((fonts.width(word, BOLD, HEAD_SIZE) for word in words), default=0.0) / mm + 0.1


def _gap(column: Column) -> float:
    """After it; more after figures, which end where the next column begins."""
    return WIDE_GAP if column.align == "right" else GAP


def _shares(columns: Sequence[Column]) -> float:
    return sum(column.share for column in columns)


def head(text: str, room: float) -> tuple[tuple[str, ...], float]:
    """The head of a column as lines, and the size at which none of its words is broken."""
    size = max(SMALLEST_HEAD, HEAD_SIZE * min(1.0, room / _longest_word(text)))
    return broken(text, room, BOLD, size), size


@lru_cache(maxsize=20_000)
def broken(text: str, room: float, font: str = PLAIN, size: float = SIZE) -> tuple[str, ...]:
    """`text` as lines of at most `room` mm: broken at its own line ends, at blanks, after hyphens, and within a word
    where nothing else will do. What the type lacks is a gap, as `fonts.printable` leaves it."""
    if text.isprintable():
        shown = fonts.printable(text)
        if fonts.width(shown, font, size) <= room * mm:
            return (shown,)
    found = [
        line for part in text.splitlines() for line in _wrapped(fonts.printable(part), room * mm, font, size)
    ]
    return tuple(found) or ("",)


def _wrapped(text: str, room: float, font: str, size: float) -> list[str]:
    lines = [""]
    for word in re.findall(r"\S+?-(?=\S)|\S+ *", text):
        if fonts.width((lines[-1] + word).rstrip(), font, size) <= room:
            lines[-1] += word
            continue
        if lines[-1]:
            lines.append("")
        for character in word:
            if lines[-1] and fonts.width((lines[-1] + character).rstrip(), font, size) > room:
                lines.append("")
            lines[-1] += character
    return [line.rstrip() for line in lines]
