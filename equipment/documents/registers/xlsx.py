"""A register as a workbook, in constant memory: the lines on one sheet, what it is on another.

Numbers, days and moments are typed; everything else is written as a string and never as a formula or a link.
"""

from collections.abc import Callable, Iterable, Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any, BinaryIO

import xlsxwriter
from django.utils import timezone
from django.utils.formats import number_format
from django.utils.translation import gettext as _

from equipment.documents.registers.about import about
from equipment.documents.registers.facts import Facts
from equipment.documents.registers.inert import inert
from equipment.documents.registers.words import Words, read_by
from equipment.models.registers import Cell, Column, Line

MOST_ROWS = 1_048_576
"""What a sheet holds, its head included."""
CHARACTERS_A_SHARE = 16
# A spreadsheet keeps fifteen digits of a number, and days from 1900 on.
LARGEST, EARLIEST = 10**15, 1900
PLAIN: Mapping[str, Any] = {
    "constant_memory": True,
    "strings_to_formulas": False,
    "strings_to_numbers": False,
    "strings_to_urls": False,
}


def write(facts: Facts, lines: Iterable[Line], to: BinaryIO) -> None:
    """Raises ValueError where a sheet cannot hold so many lines."""
    if facts.count >= MOST_ROWS:
        said = _("A spreadsheet holds %(most)s lines and this register has %(count)s. Choose fewer days.")
        words = {"most": number_format(MOST_ROWS - 1), "count": number_format(facts.count)}
        raise ValueError(said % words)
    with xlsxwriter.Workbook(to, PLAIN) as book:
        book.set_properties({"title": facts.title, "subject": facts.code})
        ending = _Table(book, facts).fill(lines)
        _about(book, facts, ending)


class _Table:
    def __init__(self, book: xlsxwriter.Workbook, facts: Facts) -> None:
        self.facts = facts
        self.sheet = book.add_worksheet(inert(_("Lines")))
        self.bold = book.add_format({"bold": True, "text_wrap": True, "bottom": 1, "valign": "top"})
        self.moment = book.add_format({"num_format": "d mmm yyyy hh:mm", "valign": "top", "align": "left"})
        self.day = book.add_format({"num_format": "d mmm yyyy", "valign": "top", "align": "left"})
        self.text = book.add_format({"text_wrap": True, "valign": "top"})
        self.words = Words()
        self.ways: Mapping[type, Callable[[int, int, Any], Any]] = {
            bool: self._boolean,
            int: self._number,
            Decimal: self._number,
            datetime: self._moment,
            date: self._day,
            type(None): lambda row, column, cell: None,
        }

    def fill(self, lines: Iterable[Line]) -> list[str]:
        """What the lines add up to."""
        self._head()
        tally = self.facts.register.tally()
        for row, line in enumerate(read_by(self.words, lines), start=1):
            tally.add(line)
            self._words(row, 0, line.where)
            for column, cell in enumerate(line.cells, start=1):
                self.ways.get(type(cell), self._words)(row, column, cell)
        self.sheet.autofilter(0, 0, max(1, tally.lines), len(self.facts.register.sealed))
        return self.facts.ending(tally)

    def _head(self) -> None:
        columns = (Column("where", "", 0.6), *self.facts.register.sealed)
        for number, (column, head) in enumerate(zip(columns, self.facts.heads_of_columns, strict=True)):
            self.sheet.set_column(number, number, max(8, column.share * CHARACTERS_A_SHARE))
            self.sheet.write_string(0, number, inert(head), self.bold)
        self.sheet.freeze_panes(1, 0)
        self.sheet.repeat_rows(0)
        self.sheet.set_landscape()
        self.sheet.fit_to_pages(1, 0)

    def _words(self, row: int, column: int, cell: Cell) -> None:
        if said := inert(self.words.say(cell)):
            self.sheet.write_string(row, column, said, self.text)

    def _boolean(self, row: int, column: int, cell: bool) -> None:
        self.sheet.write_string(row, column, inert(_("yes") if cell else _("no")), self.text)

    def _number(self, row: int, column: int, cell: int | Decimal) -> None:
        """As a string where a spreadsheet would round it."""
        if abs(cell) >= LARGEST:
            self._words(row, column, cell)
        else:
            self.sheet.write_number(row, column, cell, self.text)  # type: ignore[arg-type]

    def _moment(self, row: int, column: int, cell: datetime) -> None:
        self._when(row, column, timezone.localtime(cell).replace(tzinfo=None, microsecond=0), self.moment)

    def _day(self, row: int, column: int, cell: date) -> None:
        self._when(row, column, cell, self.day)

    def _when(self, row: int, column: int, cell: Any, style: Any) -> None:
        """A spreadsheet's calendar begins in 1900."""
        if cell.year < EARLIEST:
            self._words(row, column, cell.isoformat())
        else:
            self.sheet.write_datetime(row, column, cell, style)


def _about(book: xlsxwriter.Workbook, facts: Facts, ending: list[str]) -> None:
    sheet = book.add_worksheet(inert(_("About")))
    bold, text = (book.add_format({"bold": True, "valign": "top"}), book.add_format({"text_wrap": True}))
    sheet.set_column(0, 0, 32)
    sheet.set_column(1, 1, 76)
    rows = [*about(facts), *(("", sentence) for sentence in ending)]
    for row, (name, value) in enumerate(rows):
        sheet.write_string(row, 0, inert(name), bold)
        sheet.write_string(row, 1, inert(value), text)
