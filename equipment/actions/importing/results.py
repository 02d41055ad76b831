"""What an import says: what was wrong, or what it adds and changes."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

MOST_SHOWN = 200
LONGEST_SHOWN = 80


@dataclass(frozen=True, slots=True)
class BadCell:
    """One thing to put right. `line` counts the file's own lines from 1; `column` is empty where the whole line, or
    with line 0 the whole file, is meant; `value` is as it stands there, cut short."""

    line: int
    column: str
    value: str
    reason: str


def bad(line: int, column: str, value: Any, reason: str) -> BadCell:
    """A BadCell whose value can be shown: one line, short, nothing unprintable."""
    text = "".join(c if c.isprintable() else " " for c in str(value)[: LONGEST_SHOWN + 1])
    return BadCell(
        line, column, text if len(text) <= LONGEST_SHOWN else text[: LONGEST_SHOWN - 1] + "…", reason
    )


@dataclass(frozen=True, slots=True)
class Difference:
    """A field that changes; both values as words."""

    column: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class Changed:
    line: int
    what: str
    differences: tuple[Difference, ...]


@dataclass(frozen=True, slots=True)
class Missing:
    """A picker whom the file does not name though they are in a crew or hold gear; `tags` is what they hold."""

    picker: int
    number: str
    name: str
    crew: str
    tags: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Result:
    """What a file did, or with `dry_run` would do; where `bad_count` is not 0 it did nothing at all.

    `bad` are the first 200 of the `bad_count` cells to put right. `new_pieces` counts the gear that gets registered,
    `act` names those entries of the book, and `new_cards` the badges newly lent.
    """

    kind: str
    dry_run: bool
    rows: int = 0
    bad: tuple[BadCell, ...] = ()
    bad_count: int = 0
    added: tuple[str, ...] = ()
    changed: tuple[Changed, ...] = ()
    unchanged: int = 0
    warnings: tuple[str, ...] = ()
    missing: tuple[Missing, ...] = ()
    new_pieces: int = 0
    new_cards: int = 0
    act: UUID | None = None

    @property
    def good(self) -> bool:
        return not self.bad_count

    @property
    def recorded(self) -> bool:
        return self.good and not self.dry_run

    @property
    def bad_left_out(self) -> int:
        return self.bad_count - len(self.bad)


@dataclass(slots=True)
class Findings:
    """What comparing a file with the farm yields; `write` then does it, inside the transaction of the caller."""

    bad: list[BadCell] = field(default_factory=list)
    added: list[str] = field(default_factory=list)
    changed: list[Changed] = field(default_factory=list)
    unchanged: int = 0
    warnings: list[str] = field(default_factory=list)
    missing: Sequence[Missing] = ()
    new_pieces: int = 0
    new_cards: int = 0
    act: UUID | None = None
    write: Callable[[], None] = lambda: None

    def note(self, line: int, what: str, differences: Sequence[Difference]) -> bool:
        """Count a row that is known already; whether it changes anything."""
        if differences:
            self.changed.append(Changed(line, what, tuple(differences)))
        else:
            self.unchanged += 1
        return bool(differences)
