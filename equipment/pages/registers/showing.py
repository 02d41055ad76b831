"""What a register says of the days asked for, before it is printed: its first lines, and what all of them add up to."""

import re
from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from time import monotonic

from django.urls import reverse
from django.utils.html import conditional_escape, format_html
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from equipment.documents.registers.facts import Facts
from equipment.documents.registers.words import Words
from equipment.models.registers import Asked, Heads, Line, Named, Register, heads_to_read
from equipment.pages.registers.limits import MOST_ON_PAPER, MOST_SECONDS

SHOWN = 10
# Of a cell; the paper has it whole.
MOST_LETTERS, WANTS_ROOM = 160, 60


@dataclass(frozen=True, slots=True)
class Cell:
    """`tag`: the text is the label of a piece; `labels` are those that stand in it. `short`: it stands on one line;
    `long`: it wants room."""

    words: str
    head: str
    tag: bool = False
    labels: Sequence[str] = ()
    right: bool = False
    short: bool = False

    @property
    def long(self) -> bool:
        return len(self.words) > WANTS_ROOM

    @property
    def linked(self) -> SafeString:
        """The words, in which each label leads to its piece."""
        if not self.labels:
            return conditional_escape(self.words)
        either = "|".join(map(re.escape, self.labels))
        parts = re.split(rf"\b({either})\b", self.words)
        return mark_safe(  # noqa: S308 every part is escaped
            "".join(
                _link(part) if number % 2 else conditional_escape(part) for number, part in enumerate(parts)
            )
        )


@dataclass(frozen=True, slots=True)
class Row:
    where: str
    cells: Sequence[Cell]


@dataclass(frozen=True, slots=True)
class Shown:
    """`large`: more lines than go on paper at once, counted no further. `ending` says what all lines add up to."""

    facts: Facts
    rows: Sequence[Row]
    count: int
    large: bool
    ending: Sequence[str]


def shown(register: Register, asked: Asked, at: datetime) -> Shown:
    """As the book stands where registers are read."""
    heads = heads_to_read()
    lines = AFewAtOnce(register, asked, heads)
    first: list[Line] = []
    tally = register.tally()
    for line in lines:
        tally.add(line)
        if len(first) < SHOWN:
            first.append(line)
    facts = Facts(register, asked, heads, "", "", tally.lines, at)
    ending = [] if lines.large else facts.ending(tally)
    return Shown(facts, rows_of(register, first), tally.lines, lines.large, ending)


def too_large(register: Register, asked: Asked, heads: Heads) -> bool:
    """Whether it has more lines than go on paper at once."""
    lines = AFewAtOnce(register, asked, heads)
    deque(lines, maxlen=0)
    return lines.large


class AFewAtOnce:
    """The lines of a register for as long as they go on paper at once; `large` afterwards, where they do not."""

    def __init__(self, register: Register, asked: Asked, heads: Heads) -> None:
        self._lines = register.read(asked, heads)
        self.large = False

    def __iter__(self) -> Iterator[Line]:
        began = monotonic()
        for number, line in enumerate(self._lines, start=1):
            if number > MOST_ON_PAPER or monotonic() - began > MOST_SECONDS:
                self.large = True
                return
            yield line


def rows_of(register: Register, lines: Sequence[Line]) -> list[Row]:
    """In words; a few queries for all of them."""
    words = Words()
    words.learn(lines)
    return [
        Row(
            line.where,
            [
                Cell(
                    _cut(words.say(cell)),
                    _(column.head),
                    isinstance(cell, Named) and cell.what == "tag",
                    words.labels(cell),
                    column.align == "right",
                    isinstance(cell, date),
                )
                for column, cell in zip(register.sealed, line.cells, strict=True)
            ],
        )
        for line in lines
    ]


def _link(label: str) -> SafeString:
    return format_html('<a href="{}">{}</a>', reverse("item", args=[label]), label)


def _cut(words: str) -> str:
    return words if len(words) <= MOST_LETTERS else words[: MOST_LETTERS - 1] + "…"
