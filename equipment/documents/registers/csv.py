"""A register as CSV: streamed line by line, in UTF-8 with the mark by which spreadsheets know it (RFC 4180 otherwise).

What stands above the table on paper stands above it here, then an empty line, the heads and the lines, another empty
line, and what they add up to.
"""

import csv
import io
from collections.abc import Iterable, Iterator
from datetime import date, datetime
from decimal import Decimal
from typing import BinaryIO

from django.utils import timezone
from django.utils.translation import gettext as _

from equipment.documents.registers.about import about
from equipment.documents.registers.facts import Facts
from equipment.documents.registers.inert import inert_anywhere
from equipment.documents.registers.words import Words, read_by
from equipment.models.registers import Cell, Line


def write(facts: Facts, lines: Iterable[Line], to: BinaryIO) -> None:
    for piece in streamed(facts, lines):
        to.write(piece)


def streamed(facts: Facts, lines: Iterable[Line]) -> Iterator[bytes]:
    """The file in pieces, each of whole lines."""
    room = io.StringIO(newline="")
    rows = csv.writer(room, quoting=csv.QUOTE_NONNUMERIC)
    yield "\ufeff".encode()
    for row in _rows(facts, lines):
        rows.writerow([inert_anywhere(cell) if isinstance(cell, str) else cell for cell in row])
        if room.tell() > 1 << 16:
            yield _taken(room)
    yield _taken(room)


def _taken(room: io.StringIO) -> bytes:
    piece = room.getvalue().encode()
    room.seek(0)
    room.truncate()
    return piece


def _rows(facts: Facts, lines: Iterable[Line]) -> Iterator[list[str | int | Decimal]]:
    for name, value in about(facts):
        yield [name, value] if name else [value]
    yield []
    yield [*facts.heads_of_columns]
    words, tally = Words(), facts.register.tally()
    for line in read_by(words, lines):
        tally.add(line)
        yield [line.where, *(_cell(cell, words) for cell in line.cells)]
    yield []
    yield from ([sentence] for sentence in facts.ending(tally))


def _cell(cell: Cell, words: Words) -> str | int | Decimal:
    """Numbers plain, moments on the farm's clock by ISO 8601, the rest in words."""
    if isinstance(cell, bool):
        return _("yes") if cell else _("no")
    if isinstance(cell, int | Decimal):
        return cell
    if isinstance(cell, datetime):
        return timezone.localtime(cell).strftime("%Y-%m-%d %H:%M:%S")
    if isinstance(cell, date):
        return cell.isoformat()
    return words.say(cell)
