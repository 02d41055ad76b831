"""Inspections of gear: what piece, by which checklist, what was found, and when it is due again."""

from collections.abc import Hashable, Iterator, Mapping
from datetime import date, timedelta
from typing import Any

from django.utils import timezone

from equipment.domain.words import gettext_noop
from equipment.models import rules
from equipment.models.book import Entry
from equipment.models.registers import _lateness
from equipment.models.registers._phrases import answer, number, phrase, word
from equipment.models.registers._together import together
from equipment.models.registers._traits import traits
from equipment.models.registers.base import Asked, Cell, Column, Heads, Line, Named, Register, Tally
from equipment.models.registers.reading import in_period, standing, where

IN_ORDER = gettext_noop("in order")
BEFORE_USE = gettext_noop("before its next use")


def lines(asked: Asked, heads: Heads) -> Iterator[Line]:
    """Pieces of which the same is to be said are one line: whoever looked at forty bags signs for forty bags."""
    for some in together(_inspected(asked, heads), lambda each: each[0].happened_at, _alike):
        row, cells = some[0]
        items = sorted(str(each.item_id) for each, _cells in some)
        pieces: Cell = (Named("kind", row.item.kind_id), Named("tags", " ".join(items)))  # type: ignore[union-attr]
        also = tuple(each.pk for each, _cells in some[1:])
        yield Line(row.pk, row.happened_at, where(row), (row.happened_at, pieces, len(some), *cells), also)


def _inspected(asked: Asked, heads: Heads) -> Iterator[tuple[Entry, tuple[Cell, ...]]]:
    rows = in_period(asked, heads, "store", "crew", "kind", "tag").select_related("item")
    for page in standing(rows, ["inspected"], heads):
        yield from ((row, _cells(row)) for row in page)


def _alike(inspected: tuple[Entry, tuple[Cell, ...]]) -> Hashable:
    """What was found or read off one piece stands in a line of its own."""
    row, cells = inspected
    _traits, _checklist, _good, read, found, _by, recorded, _next = cells
    if read or found != (word(IN_ORDER),):
        return row.pk
    late = recorded[1:] if isinstance(recorded, tuple) else ()
    assert row.item is not None  # noqa: S101 the verb's family says so
    return row.item.kind_id, row.store_id, cells[:3], row.by_id, late, cells[-1]


def _cells(row: Entry) -> tuple[Cell, ...]:
    assert row.item is not None  # noqa: S101 the verb's family says so
    detail = row.detail
    answers, failed = detail["answers"], detail.get("failed", {})
    good = phrase(
        gettext_noop("%(good)s of %(all)s"),
        good=len(answers) - len(failed.keys() & answers),
        all=len(answers),
    )
    return (
        traits(row.item),
        Named("checklist", detail["checklist"]),
        good,
        read_off(detail),
        failures(row, detail["checklist"]),
        Named("user", row.by_id),
        _lateness.recorded(row),
        _next(row, row.item.kind_id),
    )


def read_off(detail: Mapping[str, Any]) -> tuple[Cell, ...]:
    """The numbers that were read, and the dates on what belongs in it, in an order of their own: a database keeps the
    words of a detail in whatever order it likes."""
    numbers = [
        answer(detail["checklist"], point, given)
        for point, given in sorted(detail["answers"].items())
        if given not in ("yes", "no", True, False) and number(given) is not None
    ]
    dates = sorted((date.fromisoformat(str(day)), name) for name, day in detail.get("expiries", {}).items())
    return (*numbers, *(answer("", name, day) for day, name in dates))


def failures(row: Entry, checklist: str) -> tuple[Cell, ...]:
    """What failed, as it was answered, with the fault that it opened; and what was written beside it."""
    failed: Mapping[str, str] = row.detail.get("failed", {})
    cells: list[Cell] = [] if failed else [word(IN_ORDER)]
    for point, fault in sorted(failed.items()):
        cells.append(answer(checklist, point, row.detail["answers"].get(point, "")))
        cells += [Named("fault", fault)] if fault else []
    if row.note_digest:
        cells.append(Named("note", str(row.pk), row.note_digest))
    return tuple(cells)


def _next(row: Entry, kind: str) -> Cell:
    """The day by which it is due again, by the rules that were in force when it was written down: their versions never
    change."""
    version = row.detail.get("rules")
    if not version:
        return None
    for rule in rules.rules_at(row.recorded_at, version).inspections.get(kind, ()):
        if rule.checklist == row.detail["checklist"]:
            if not rule.every_days:
                return word(BEFORE_USE)
            return timezone.localdate(row.happened_at + timedelta(days=rule.every_days))
    return None


class Sums(Tally):
    def __init__(self) -> None:
        super().__init__()
        self.pieces = self.failed = self.late = 0

    def add(self, line: Line) -> None:
        super().add(line)
        _at, _pieces, count, *_rest, found, _by, recorded, _next = line.cells
        pieces = count if isinstance(count, int) else 0
        self.pieces += pieces
        self.failed += pieces if isinstance(found, tuple) and word(IN_ORDER) not in found else 0
        self.late += pieces if isinstance(recorded, tuple) and word(_lateness.LATE_WORD) in recorded else 0

    def said(self) -> list[tuple[str, Mapping[str, Any]]]:
        return [
            (
                gettext_noop(
                    "Inspections: %(all)s, of which %(failed)s found something. Written in the book late: %(late)s."
                ),
                {"all": self.pieces, "failed": self.failed, "late": self.late},
            )
        ]


REGISTER = Register(
    name="inspections",
    title=gettext_noop("Inspections"),
    about=gettext_noop(
        "Which piece was looked at, by which checklist, what was found, and when it is due again."
    ),
    columns=(
        Column("at", gettext_noop("Inspected"), 1.25),
        Column("items", gettext_noop("Which pieces"), 3.1),
        Column("count", gettext_noop("Pieces"), 0.55, "right"),
        Column("traits", gettext_noop("What they are"), 1.5),
        Column("checklist", gettext_noop("Checklist"), 1.4),
        Column("good", gettext_noop("Points in order"), 0.7),
        Column("read", gettext_noop("Read off, dates"), 1.4),
        Column("found", gettext_noop("Found"), 1.6),
        Column("by", gettext_noop("By"), 1.1),
        Column("recorded", gettext_noop("Recorded after (h:min)"), 0.8, "right"),
        Column("next", gettext_noop("Due again"), 1.0),
    ),
    lines=lines,
    filters=frozenset({"store", "crew", "kind", "tag"}),
    notes=(
        gettext_noop(
            "Points answered as they should be are counted; every other answer stands under “Found” with the fault "
            "that it opened."
        ),
        gettext_noop(
            "A first-aid kit holds what its class asks for (ANSI/ISEA Z308.1-2014, blue plasters besides); the dates "
            "are those read off its contents."
        ),
        gettext_noop(
            "Pieces that one person looked at by one checklist within ten minutes, and of which the same is to be "
            "said, stand in one line, with the place in the book of the first."
        ),
        gettext_noop("“Due again” follows the rules of the day on which the inspection was written down."),
        _lateness.RULE,
    ),
    cautions=("ladder",),
    signatures=(gettext_noop("Inspected by"), gettext_noop("Safety officer")),
    tally=Sums,
)
