"""What a register is: lines of the book, put in columns, as the book stood at given heads.

A line holds values, never words: names may be corrected or erased and kinds renamed, and the same printing must still
agree with the book. `equipment.documents.registers.words` says them in a language.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import asdict, dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any, Literal, Self
from uuid import UUID

from django.utils import timezone
from django.utils.translation import gettext

from equipment.domain import chain
from equipment.models import replica
from equipment.models.book import ChainHead

Filter = Literal["store", "crew", "block", "kind", "picker", "tag"]
# What a mistyped year is told by.
EARLIEST, LATEST = date(1990, 1, 1), date(2199, 12, 31)
# Store -> position and digest of its last entry.
Heads = Mapping[str, tuple[int, str]]

What = Literal[
    "picker", "user", "device", "tag", "tags", "kind", "crew", "block", "store", "fault", "checklist", "recipe",
    "agent", "disease", "goods", "note", "word", "phrase", "answer",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Named:
    """A value that is said by its name. `key` is a code, an opaque number, of a `tag` the item's id (the label that it
    wears), of `tags` several such ids with blanks between, of a `note` its entry, of a `word` a text marked for
    translation, of a `phrase` and an `answer` what `_phrases` makes. `seal` is what the book holds in place of a note
    that may be erased: its digest."""

    what: What
    key: str | int
    seal: str = ""


@dataclass(frozen=True, slots=True)
class Beside:
    """Cells that are said on one line, with `between` between those that say anything."""

    cells: tuple["Cell", ...]
    between: str = " "


Cell = None | str | int | Decimal | bool | date | datetime | Named | Beside | tuple["Cell", ...]


@dataclass(frozen=True, slots=True)
class Column:
    """`share` is its part of the page's width, beside those of the others; `head` a gettext template. `sign` columns
    stay empty on paper: somebody writes there by hand, and they are no part of what the digest covers."""

    name: str
    head: str
    share: float = 1.0
    align: Literal["left", "right"] = "left"
    sign: bool = False


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a register, of the entry that it is about; `where` is the entry's place in the book, such as
    "A 1234". A cell for each column that is not for signing. `also`: further entries of which the line tells."""

    entry: UUID
    at: datetime
    where: str
    cells: tuple[Cell, ...]
    also: tuple[UUID, ...] = ()

    @property
    def entries(self) -> tuple[UUID, ...]:
        return self.entry, *self.also

    def canonical(self) -> bytes:
        """RFC 8785 JSON of the line, the same in any language."""
        also = {"also": [*map(str, self.also)]} if self.also else {}
        cells = [*map(plain, self.cells)]
        return chain.written({"entry": str(self.entry), "where": self.where, "cells": cells, **also})


@dataclass(frozen=True)
class Asked:
    """What a register is asked for: the farm's days from `first` to `last`, both included, and what else limits it
    ("" or None: everything). Raises ValueError, with a sentence to act on, where the days lie the wrong way round."""

    first: date
    last: date
    store: str = ""
    crew: str = ""
    block: str = ""
    kind: str = ""
    picker: int | None = None
    tag: str = ""

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise ValueError(gettext("The last day lies before the first. Put the earlier day first."))
        if self.first < EARLIEST or self.last > LATEST:
            raise ValueError(gettext("There is no book of these days. Check the year."))

    @property
    def since(self) -> datetime:
        """The first moment that is meant, UTC."""
        return _midnight(self.first)

    @property
    def until(self) -> datetime:
        """The first moment that is not meant any more, UTC."""
        return _midnight(self.last + timedelta(days=1))

    @property
    def days(self) -> list[date]:
        return [self.first + timedelta(days=n) for n in range((self.last - self.first).days + 1)]

    def plain(self) -> dict[str, Any]:
        """As JSON; `read` is its other way."""
        return {name: plain(value) for name, value in asdict(self).items() if value not in ("", None)}

    @classmethod
    def read(cls, kept: Mapping[str, Any]) -> Self:
        days = {name: date.fromisoformat(kept[name]) for name in ("first", "last")}
        return cls(**{**kept, **days})


class Tally:
    """Counts a register's lines while they go by, and says afterwards what they add up to."""

    def __init__(self) -> None:
        self.lines = 0
        self.days: set[date] = set()

    def add(self, line: Line) -> None:
        self.lines += 1
        self.days.add(timezone.localdate(line.at))

    def said(self) -> list[tuple[str, Mapping[str, Any]]]:
        """Gettext templates with what fills them, beside the number of lines and the days without one."""
        return []


@dataclass(frozen=True)
class Register:
    """`lines` are in order of time (of days at least), streamed, and the same for ever for the same heads; to show or
    print them, `read` them. `filters` are those that it understands, `needs` those of them that it cannot do without.

    `notes` are printed under its title whatever is in it; `cautions` name topics of the catalogue's; `signatures` say
    who signs at its end. `daily`: a day without a line is worth saying.
    """

    name: str
    title: str
    about: str
    columns: tuple[Column, ...]
    lines: Callable[[Asked, Heads], Iterator[Line]]
    filters: frozenset[Filter] = frozenset({"store", "crew", "kind"})
    needs: frozenset[Filter] = frozenset()
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    signatures: tuple[str, ...] = ()
    daily: bool = False
    # One more whenever the same question is answered by other lines: a paper of before can then say why it differs.
    version: int = 1
    tally: Callable[[], Tally] = field(default=Tally)

    def read(self, asked: Asked, heads: Heads) -> Iterator[Line]:
        """Its lines, from the replica where there is one that has come to `heads`."""
        return replica.lines(lambda: self.lines(asked, heads), heads)

    @property
    def sealed(self) -> tuple[Column, ...]:
        """The columns that a line has cells for."""
        return tuple(column for column in self.columns if not column.sign)


def heads_now() -> Heads:
    """The last line of every store's book."""
    rows = ChainHead.objects.filter(position__gt=0).order_by("store_id")
    found = rows.values_list("store_id", "position", "digest")
    return {store: (position, digest) for store, position, digest in found}


def heads_to_read() -> Heads:
    """`heads_now` as they are where registers are read: a replica may be behind."""
    return replica.asked(heads_now)


def plain(cell: Any) -> Any:
    """A cell as JSON with one spelling."""
    if isinstance(cell, Named):
        return [cell.what, cell.key, cell.seal] if cell.seal else [cell.what, cell.key]
    if isinstance(cell, tuple):
        return [plain(inner) for inner in cell]
    if isinstance(cell, Beside):
        return {"beside": plain(cell.cells), "between": cell.between}
    if isinstance(cell, date) and not isinstance(cell, datetime):
        return cell.isoformat()
    return chain.plain(cell)


def _midnight(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time()))
