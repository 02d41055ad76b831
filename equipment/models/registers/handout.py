"""Handout by day and crew, with places to sign for what one got."""

from collections import Counter
from collections.abc import Iterator, Mapping
from datetime import datetime
from itertools import groupby, islice
from typing import Any

from django.db.models import Q, QuerySet
from django.utils import timezone

from equipment.domain.words import gettext_noop
from equipment.models.book import Entry
from equipment.models.registers._handed import ENDS, OVERRIDE, Given, line_of, note_of, remarks_of
from equipment.models.registers._phrases import word
from equipment.models.registers._stays import stays
from equipment.models.registers._together import together
from equipment.models.registers.base import Asked, Beside, Column, Heads, Line, Named, Register, Tally
from equipment.models.registers.reading import in_period, standing

# A day of more lines than this is put in order in parts: memory stays what it is.
SORTED_AT_ONCE = 5_000
BACK, OUT = gettext_noop("came back to a store"), gettext_noop("still out")


def lines(asked: Asked, heads: Heads) -> Iterator[Line]:
    """By the farm's day, then by crew, then by time. What a picker was handed at one go is one line, to sign once;
    of what came back at another time, or not, a line of its own."""
    in_order = _in_time(asked, heads)
    for _day, some in groupby(in_order, key=lambda line: timezone.localdate(line.at)):
        while part := list(islice(some, SORTED_AT_ONCE)):
            yield from sorted(part, key=_by_crew)


def _by_crew(line: Line) -> tuple[str, datetime]:
    crew = line.cells[1]
    assert isinstance(crew, Named)  # noqa: S101 a hand-out and a waiver always name it
    return str(crew.key), line.at


def _in_time(asked: Asked, heads: Heads) -> Iterator[Line]:
    handed = together(_given(asked, heads), lambda each: each.row.happened_at, lambda each: each.together)
    for _day, some in groupby(handed, key=lambda group: timezone.localdate(group[0].row.happened_at)):
        for group in some:
            back = sorted(group, key=lambda each: (each.back, each.row.happened_at, each.row.pk))
            for alike in together(back, lambda each: each.back, lambda each: None):
                yield line_of(sorted(alike, key=lambda each: (each.row.happened_at, each.row.pk)))


def _given(asked: Asked, heads: Heads) -> Iterator[Given]:
    for page in standing(_rows(asked, heads), ("handed_out", "waived"), heads):
        known = stays([row for row in page if row.verb == "handed_out"], heads)
        for row in page:
            yield Given(row, known.get(row.pk), note_of(row) if row.verb == "waived" else remarks_of(row))


def _rows(asked: Asked, heads: Heads) -> QuerySet[Entry]:
    rows = in_period(asked, heads, "store", "crew", "picker").select_related("item")
    if asked.kind:
        rows = rows.filter(Q(item__kind=asked.kind) | Q(verb="waived", detail__kind=asked.kind))
    return rows.filter(item__labels__code=asked.tag) if asked.tag else rows


class Sums(Tally):
    """Back is what came back to a store, by the time of printing; every piece is counted in one of the ways."""

    def __init__(self) -> None:
        super().__init__()
        self.waived = self.overridden = 0
        self.pieces: Counter[str] = Counter()

    def add(self, line: Line) -> None:
        super().add(line)
        *_rest, told, pieces, _by, back = line.cells
        if not isinstance(pieces, int):
            self.waived += 1
            return
        ending = str(back[1].key) if isinstance(back, tuple) else OUT if back is None else BACK  # type: ignore[union-attr]
        self.pieces[ending] += pieces
        remarks: Any = told
        against = any(isinstance(each, Beside) and each.cells[0] == word(OVERRIDE) for each in remarks)
        self.overridden += pieces if against else 0

    def said(self) -> list[tuple[str, Mapping[str, Any]]]:
        template = gettext_noop("%(how)s: %(pieces)s.")
        return [
            (gettext_noop("Pieces handed out: %(pieces)s. Of these:"), {"pieces": self.pieces.total()}),
            *(
                (template, {"how": word(how), "pieces": self.pieces[how]})
                for how in (BACK, OUT, *ENDS.values())
                if self.pieces[how]
            ),
            (
                gettext_noop("Handed out by override: %(overridden)s. Lines of a kit waived: %(waived)s."),
                {"overridden": self.overridden, "waived": self.waived},
            ),
        ]


REGISTER = Register(
    name="handout",
    title=gettext_noop("Handout"),
    about=gettext_noop("Who was handed which piece, by day and crew, with places to sign."),
    columns=(
        Column("at", gettext_noop("Handed out"), 1.25),
        Column("crew", gettext_noop("Crew"), 0.95),
        Column("picker", gettext_noop("Picker"), 1.7),
        Column("pieces", gettext_noop("What was handed out"), 3.7),
        Column("count", gettext_noop("Pieces"), 0.55, "right"),
        Column("by", gettext_noop("By"), 1.1),
        Column("back", gettext_noop("Came back"), 1.25),
        Column("signed", gettext_noop("Signature"), 1.6, sign=True),
    ),
    lines=lines,
    filters=frozenset({"store", "crew", "kind", "picker", "tag"}),
    notes=(
        gettext_noop(
            "In the order of days, within a day of crews. An empty place under “Came back”: still out by the book as "
            "it stood when this was printed."
        ),
        gettext_noop(
            "Pieces that went to one picker, or to a crew, within ten minutes, and that came back within ten minutes, "
            "stand in one line, with the place in the book of the first and the time of the last that came back."
        ),
    ),
    signatures=(gettext_noop("Storeman"), gettext_noop("Supervisor")),
    daily=True,
    tally=Sums,
)
