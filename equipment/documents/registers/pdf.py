"""A register on paper: A4 or Letter, upright or turned, ready to sign, and traced back to the book by its foot.

Drawn straight on the page, line by line as the book is read: memory does not grow with the lines, but for the pages
already made. A line is never split over two pages, unless it alone is longer than one.
"""

from collections.abc import Iterable
from datetime import date
from itertools import chain
from typing import BinaryIO

from django.conf import settings
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from reportlab.lib.units import mm

from equipment.documents import fonts
from equipment.documents.fonts import BOLD, BY_HAND, PLAIN, width
from equipment.documents.page import RULING
from equipment.documents.registers.drawn import draw_charts
from equipment.documents.registers.ends import Ends
from equipment.documents.registers.face import Face
from equipment.documents.registers.facts import LINE_OF_THE_BOOK, Facts
from equipment.documents.registers.leaves import A4, SIZES, Block, Leaves
from equipment.documents.registers.setting import (
    GAP,
    SIZE,
    STEP,
    WHERE,
    Place,
    broken,
    head,
    side_by_side,
    wants_turning,
    where_room,
)
from equipment.documents.registers.words import Words, read_by
from equipment.models.registers import Line

MARGIN = 10.0
# What a row takes beside the lines of its cells, and the least where somebody signs in it, in mm.
PAD, SIGNED_ROW = 1.5, 7.2
# From the upper edge of a line of type to its baseline.
ASCENT = 2.4
# A period of more days than this has its bookmarks by month.
MOST_DAY_MARKS = 62

Row = tuple[tuple[str, ...], ...]


def write(facts: Facts, lines: Iterable[Line], to: BinaryIO, size: str = "") -> None:
    """`size` A4 or Letter; without one, what the farm has set."""
    across, up = SIZES.get(size or settings.PAPER_SIZE, A4)
    fonts.register()
    room = where_room(place for place, _digest in facts.lasting())
    if wants_turning(facts.register.columns, across - 2 * MARGIN - room):
        across, up = up, across
    leaves = Leaves(to, f"{facts.title}, {facts.period}", settings.FARM_NAME, (across, up))
    Table(leaves, facts, room).write(lines)


class Table:
    """The lines, page after page. `y` is where the next row begins."""

    def __init__(self, leaves: Leaves, facts: Facts, where: float) -> None:
        self.leaves, self.facts = leaves, facts
        self.face = Face(leaves, facts, MARGIN)
        self.right = leaves.width - MARGIN
        self.places = [
            Place(WHERE, MARGIN, where - GAP),
            *side_by_side(facts.register.columns, MARGIN + where, leaves.width - 2 * MARGIN - where),
        ]
        self.sealed = [place for place in self.places if not place.column.sign]
        self.least = SIGNED_ROW if len(self.sealed) < len(self.places) else 0.0
        self.by_day = len(facts.asked.days) <= MOST_DAY_MARKS
        self.ready: dict[str, str] = {}
        self.last_day: date | None = None
        self.last_mark = ""

    def write(self, lines: Iterable[Line]) -> None:
        words, tally = Words(), self.facts.register.tally()
        self._begin(self.face.first(), heads=True)
        for line in read_by(words, lines):
            tally.add(line)
            said = chain((line.where,), map(words.say, line.cells))
            row = tuple(broken(text, place.room) for text, place in zip(said, self.sealed, strict=True))
            self._row(row, timezone.localdate(line.at))
        self._end_rows()
        Ends(self, self.facts).draw(self.facts.ending(tally))
        draw_charts(self, self.facts)
        self.turn(last=True)
        self.leaves.finish(*self.face.count_type)

    def turn(self, *, last: bool = False, heads: bool = False) -> None:
        """End this page, and begin the next unless it was the `last`."""
        self.face.foot()
        self.leaves.showPage()
        if not last:
            self._begin(self.face.later(), heads)

    def room(self, height: float) -> bool:
        return self.y - height >= self.face.end

    def keep(self, height: float) -> None:
        """Begin the next page, without column heads, unless this one has room for `height` mm."""
        if not self.room(height):
            self.turn()

    def _begin(self, y: float, heads: bool) -> None:
        self.y = y
        if heads:
            self._heads()
            self._open()

    def _heads(self) -> None:
        named = [LINE_OF_THE_BOOK, *(column.head for column in self.facts.register.columns)]
        heads = [head(_(name), place.room) for name, place in zip(named, self.places, strict=True)]
        most = max(len(lines) for lines, _size in heads)
        self.y -= most * STEP + 0.6
        for (lines, size), place in zip(heads, self.places, strict=True):
            right = place.column.align == "right"
            x = place.x + place.room if right else place.x
            for number, text in enumerate(reversed(lines)):
                y = self.y + 1.5 + number * STEP
                self.leaves.text(x, y, text, font=BOLD, size=size, align="right" if right else "left")
        self.leaves.rule(self.y, MARGIN, self.right, 1.1)

    def _open(self) -> None:
        """All rows of a page are one block of text."""
        self.block = Block(self.leaves, PLAIN, SIZE, self.ready)
        self.rules: list[tuple[float, float, float, float]] = []

    def _end_rows(self) -> None:
        leaves = self.leaves
        leaves.drawText(self.block)
        leaves.saveState()
        leaves.setStrokeColor(RULING)
        leaves.setLineWidth(0.4)
        leaves.lines(self.rules)
        leaves.restoreState()

    def _row(self, row: Row, day: date) -> None:
        height = max(max(map(len, row)) * STEP + PAD, self.least)
        if not self.room(height):
            self._next_page()
            if not self.room(height):
                self._too_long(row, day)
                return
        self._mark(day)
        self._set(row, (height - max(map(len, row)) * STEP) / 2)
        self.y -= height
        y = self.y * mm
        self.rules.append((MARGIN * mm, y, self.right * mm, y))

    def _next_page(self) -> None:
        self._end_rows()
        self.turn(heads=True)

    def _too_long(self, row: Row, day: date) -> None:
        """A line that no page holds goes on on the next ones: nothing of it is left out."""
        most = max(1, int((self.y - self.face.end - PAD) / STEP))
        while any(row):
            self._row(tuple(cell[:most] or ("",) for cell in row), day)
            row = tuple(cell[most:] for cell in row)

    def _set(self, row: Row, pad: float) -> None:
        """The cells side by side, their first lines level, `pad` mm below the row's upper edge."""
        put, top, by_hand = self.block.put, (self.y - pad - ASCENT) * mm, False
        for cell, place in zip(row, self.sealed, strict=True):
            x, y = place.x * mm, top
            for text in cell:
                if text:
                    right = place.column.align == "right"
                    put(x + place.room * mm - width(text, PLAIN, SIZE) if right else x, y, text)
                    by_hand = by_hand or BY_HAND in text
                y -= STEP * mm
        self.leaves.by_hand = self.leaves.by_hand or by_hand

    def _mark(self, day: date) -> None:
        """A heavier rule where a day begins, and a bookmark by day or by month."""
        if day == self.last_day:
            return
        if self.last_day is not None:
            # Instead of the thin one, which would be drawn over it.
            self.rules = self.rules[:-1]
            self.leaves.rule(self.y, MARGIN, self.right, 0.9)
        self.last_day = day
        title = date_format(day, _("j F Y") if self.by_day else _("F Y"))
        if title != self.last_mark:
            self.last_mark = title
            self.mark(title)

    def mark(self, title: str) -> None:
        key = f"at-{self.leaves.number}-{self.y:.1f}"
        self.leaves.bookmarkHorizontalAbsolute(key, self.y * mm)
        self.leaves.addOutlineEntry(title, key)
