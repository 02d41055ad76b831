"""What one kind of list is, and what the kinds share when they compare a file with the farm."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any, Generic, TypeVar

from django.db.models import Model
from django.utils import timezone
from django.utils.functional import Promise
from django.utils.translation import gettext as _

from crews.models import User
from equipment.actions.importing.cells import Line
from equipment.actions.importing.results import BadCell, Difference, Findings, bad

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Given:
    """The rows that fit their columns, each with its line in the file; the columns there are; who imports, and when."""

    lines: Sequence[tuple[int, Any]]
    columns: frozenset[str]
    by: User
    at: datetime

    @property
    def day(self) -> date:
        return timezone.localdate(self.at)


@dataclass(frozen=True, slots=True)
class ListKind:
    """`line` says what its columns are, `key` by which of them a row is known again (none: never), `once` which others
    must not repeat. `compare` finds out what the rows add and change, and leaves the writing to what its findings
    carry. `sample` is one row."""

    name: str
    words: Promise
    about: Promise
    line: type[Line]
    key: tuple[str, ...]
    compare: Callable[[Given], Findings]
    sample: Mapping[str, str]
    once: tuple[str, ...] = ()

    @property
    def columns(self) -> tuple[str, ...]:
        return tuple(self.line.model_fields)

    @property
    def required(self) -> frozenset[str]:
        return frozenset(name for name, field in self.line.model_fields.items() if field.is_required())

    @property
    def sample_row(self) -> tuple[str, ...]:
        return tuple(self.sample.get(name, "") for name in self.columns)

    def twice(self, lines: Sequence[tuple[int, Any]]) -> list[BadCell]:
        """The rows whose key, or what must not repeat, stands on an earlier line already."""
        keys = [self.key, *((name,) for name in self.once)]
        return [cell for key in keys if key for cell in _twice(lines, key)]


def _twice(lines: Iterable[tuple[int, Any]], key: Sequence[str]) -> list[BadCell]:
    first: dict[tuple[str, ...], int] = {}
    wrong = []
    for line, row in lines:
        values = tuple(str(getattr(row, name)).casefold() for name in key)
        if not any(values):
            continue
        if first.setdefault(values, line) != line:
            shown = ", ".join(str(getattr(row, name)) for name in key)
            wrong.append(
                bad(line, key[0], shown, _("This stands on line %(line)d already.") % {"line": first[values]})
            )
    return wrong


class ByName(Generic[T]):
    """Finds rows by any of the words they go by, as written or in other capitals."""

    def __init__(self, rows: Iterable[T], words: Callable[[T], Iterable[str]]) -> None:
        self._exact: dict[str, T] = {}
        self._folded: dict[str, T] = {}
        for row in rows:
            for word in words(row):
                self._exact.setdefault(word, row)
                self._folded.setdefault(word.casefold(), row)

    def find(self, word: str) -> T | None:
        return self._exact.get(word) or self._folded.get(word.casefold())


def differences(row: Model, wanted: Mapping[str, Any]) -> list[Difference]:
    """What would change on `row` if it took the wanted values."""
    return [
        Difference(name, shown(getattr(row, name)), shown(value))
        for name, value in wanted.items()
        if getattr(row, name) != value
    ]


def shown(value: Any) -> str:
    """A value in words; nothing is a dash."""
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    return "–" if value in (None, "") else str(value)


def save(row: Model, wanted: Mapping[str, Any]) -> None:
    """Put the wanted values on `row`, in memory; a bulk update follows."""
    for name, value in wanted.items():
        setattr(row, name, value)
