"""From the bytes of a file to rows of text: encodings, separators, line ends, and the columns of its first line.

Whatever a spreadsheet writes as CSV is read: UTF-8 with or without a byte-order mark, UTF-16 with one, Windows-1252;
comma, semicolon or tab; CRLF, LF or CR. Quoting is that of RFC 4180, read strictly: an unclosed quotation mark must
not swallow the rest of the file.
"""

import codecs
import csv
import io
import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from equipment.actions.importing.results import BadCell, bad

MOST_BYTES = 10 * 1024 * 1024
MOST_ROWS = 20_000
# No list has a dozen; to look each of a million up among the others would take a thread for an hour.
MOST_COLUMNS = 200
SEPARATORS = ",;\t"
WORKBOOKS = (b"PK\x03\x04", b"\xd0\xcf\x11\xe0")
UTF_16 = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)

TOO_BIG = gettext_noop(
    "The file is larger than %(most)d MB. Split it and import the parts one after the other."
)
TOO_LONG = gettext_noop(
    "The file has more than %(most)d rows. Split it and import the parts one after the other."
)
TOO_WIDE = gettext_noop(
    "The first line names more than %(most)d columns. It should name those of the list, separated by commas."
)
WORKBOOK = gettext_noop(
    "This is a workbook. In the spreadsheet choose Save as, then CSV UTF-8, and import that file."
)
NO_TEXT = gettext_noop("This is not a text file that can be read. In the spreadsheet save it as CSV UTF-8.")
EMPTY = gettext_noop("The file is empty. Its first line names the columns: %(columns)s.")
QUOTING = gettext_noop(
    "From this line on the file cannot be read: a quotation mark is not closed, or stands beside more text. "
    "Inside a value in quotation marks, write them twice."
)
GUESSED = gettext_noop(
    "The file was read as Windows-1252, because it is not UTF-8. Look whether names with accents are right."
)

# Some spreadsheets put the separator on a line before the column names.
_HINT = re.compile(r'\s*"?sep=([,;\t])"?[,;\t]*(?=\r|\n|$)', re.IGNORECASE)


class Row(NamedTuple):
    """`cells` are the text as it stands in the file, by column; `line` is the file's line that the row begins on."""

    line: int
    cells: dict[str, str]


@dataclass(frozen=True, slots=True)
class Sheet:
    """`columns` are those that the file has, in its order; `bad` what could not be read into rows."""

    columns: tuple[str, ...] = ()
    rows: tuple[Row, ...] = ()
    bad: tuple[BadCell, ...] = ()
    warnings: tuple[str, ...] = ()


class Unreadable(ValueError):
    """No rows can be made of the file; `bad` says why."""

    def __init__(self, *bad: BadCell) -> None:
        self.bad = bad
        super().__init__("; ".join(cell.reason for cell in bad))


def read(data: bytes, known: Sequence[str], required: Collection[str]) -> Sheet:
    """The rows of a CSV file whose columns are among `known` and include `required`. Raises Unreadable."""
    if len(data) > MOST_BYTES:
        raise _whole_file(_(TOO_BIG) % {"most": MOST_BYTES // 1024**2})
    text, warnings = decode(data)
    separator, text = _separator(text, known)
    records = _records(text, separator)
    try:
        line, header = next(records, (0, []))
    except _Broken as broken:
        raise Unreadable(broken.cell) from None
    if not header:
        raise _whole_file(_(EMPTY) % {"columns": ", ".join(known)})
    if sum(bool(cell.strip()) for cell in header) > MOST_COLUMNS:
        raise _whole_file(_(TOO_WIDE) % {"most": MOST_COLUMNS})
    columns = _columns(line, header, known, required)
    rows, wrong = _rows(records, columns)
    return Sheet(tuple(name for name in columns if name), tuple(rows), tuple(wrong), warnings)


def decode(data: bytes) -> tuple[str, tuple[str, ...]]:
    """The text, and a warning where its encoding had to be guessed. Raises Unreadable."""
    if data.startswith(WORKBOOKS):
        raise _whole_file(_(WORKBOOK))
    encoding = "utf-16" if data.startswith(UTF_16) else "utf-8-sig"
    try:
        text, warnings = data.decode(encoding), ()
    except UnicodeDecodeError:
        if encoding == "utf-16":
            raise _whole_file(_(NO_TEXT)) from None
        text, warnings = _windows(data), (_(GUESSED),)
    if "\0" in text[:1000].partition("\n")[0]:
        raise _whole_file(_(NO_TEXT))
    return text, warnings


def _windows(data: bytes) -> str:
    try:
        return data.decode("cp1252")
    except UnicodeDecodeError:
        raise _whole_file(_(NO_TEXT)) from None


def _whole_file(reason: str) -> Unreadable:
    return Unreadable(bad(0, "", "", reason))


def _separator(text: str, known: Sequence[str]) -> tuple[str, str]:
    """The separator by which the first line names most columns, and the text without a hint at it."""
    if hint := _HINT.match(text):
        return hint[1], text[hint.end() :].join(("\n" * hint[0].count("\n"), ""))

    def fits(separator: str) -> tuple[int, int]:
        try:
            _line, header = next(_records(text, separator), (0, []))
        except _Broken:
            return (0, 0)
        return len({column_name(cell) for cell in header} & set(known)), len(header)

    return max(SEPARATORS, key=fits), text


class _Broken(Exception):
    def __init__(self, line: int) -> None:
        self.cell = bad(line, "", "", _(QUOTING))


def _records(text: str, separator: str) -> Iterator[tuple[int, list[str]]]:
    """Records that are not blank, with the line that each begins on. Raises _Broken."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    line = 1
    while True:
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error:
            raise _Broken(line) from None
        if any(cell.strip() for cell in cells):
            yield line, cells
        line = reader.line_num + 1


def column_name(text: str) -> str:
    """A column's name as it is compared: "Tall trees " is tall_trees."""
    return re.sub(r"[\s_-]+", "_", text.strip().casefold())


def _columns(line: int, header: list[str], known: Sequence[str], required: Collection[str]) -> list[str]:
    """The name of each column, empty for one without a name. Raises Unreadable naming every wrong one."""
    names = [column_name(cell) for cell in header]
    wrong = []
    for place, (name, cell) in enumerate(zip(names, header, strict=True)):
        if name and name not in known:
            reason = _("There is no such column. The columns are: %(columns)s.") % {
                "columns": ", ".join(known)
            }
            wrong.append(bad(line, cell.strip()[:40], cell, reason))
        elif name and name in names[:place]:
            wrong.append(bad(line, name, cell, _("This column stands there twice. Leave one out.")))
    for name in known:
        if name in required and name not in names:
            wrong.append(bad(line, name, "", _("This column is missing.")))
    if wrong:
        raise Unreadable(*wrong)
    return names


def _rows(records: Iterator[tuple[int, list[str]]], columns: list[str]) -> tuple[list[Row], list[BadCell]]:
    rows: list[Row] = []
    wrong: list[BadCell] = []
    try:
        for line, cells in records:
            if len(rows) == MOST_ROWS:
                raise _whole_file(_(TOO_LONG) % {"most": MOST_ROWS})
            if problem := _misfit(line, cells, columns):
                wrong.append(problem)
            else:
                rows.append(
                    Row(line, {name: cell for name, cell in zip(columns, cells, strict=False) if name})
                )
    except _Broken as broken:
        wrong.append(broken.cell)
    return rows, wrong


def _misfit(line: int, cells: list[str], columns: list[str]) -> BadCell | None:
    """What is wrong where the row has other cells than the columns; blank ones too many do not matter."""
    if len(cells) < len(columns) and any(columns[len(cells) :]):
        counts = {"cells": len(cells), "columns": len(columns)}
        return bad(line, "", "", _("The line ends early: %(cells)d values for %(columns)d columns.") % counts)
    beyond = [cell for name, cell in zip(columns, cells, strict=False) if not name] + cells[len(columns) :]
    if extra := [cell for cell in beyond if cell.strip()]:
        reason = _(
            "There is no column for this value. A value with a separator in it goes in quotation marks."
        )
        return bad(line, "", extra[0], reason)
    return None
