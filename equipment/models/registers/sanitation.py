"""Sanitation: baths mixed, tested and emptied; what was dipped in them, or cleaned in another way, and whether it
counts."""

from collections.abc import Hashable, Iterator, Mapping
from itertools import groupby
from typing import Any, NamedTuple

from django.db.models import Q, QuerySet

from equipment.domain.words import gettext_noop
from equipment.models.book import Entry
from equipment.models.registers import _cleanings as say
from equipment.models.registers import _lateness
from equipment.models.registers._dips import Bath, Verdicts
from equipment.models.registers._phrases import word
from equipment.models.registers.base import Asked, Column, Heads, Line, Named, Register, Tally
from equipment.models.registers.reading import in_period, standing, where


class Judged(NamedTuple):
    """An entry, the bath that it names, and why it does not count, "" where it does."""

    row: Entry
    bath: Bath | None
    why: str


# No line is longer than this, and what a piece of paper names at once can still be looked up at once.
MOST_TOGETHER = 60


def lines(asked: Asked, heads: Heads) -> Iterator[Line]:
    """Pieces of one act, of which the same is to be said, are one line, of the first entry among them."""
    for _at, moment in groupby(_judged(asked, heads), key=lambda each: each.row.happened_at):
        together: dict[Hashable, list[Judged]] = {}
        for each in moment:
            together.setdefault(_group(each), []).append(each)
        for some in together.values():
            for start in range(0, len(some), MOST_TOGETHER):
                yield _line(some[start : start + MOST_TOGETHER])


def _judged(asked: Asked, heads: Heads) -> Iterator[Judged]:
    verdicts = Verdicts(heads)
    for page in standing(_rows(asked, heads), ("mixed", "tested", "cleaned", "emptied"), heads):
        verdicts.look(page)
        for row in page:
            bath = verdicts.baths[row.bath] if row.bath else None
            yield Judged(row, bath, verdicts.why_not(row) if row.verb == "cleaned" else "")


def _rows(asked: Asked, heads: Heads) -> QuerySet[Entry]:
    """Of one crew, kind or piece: its cleanings, and the baths that these name."""
    rows = in_period(asked, heads, "store").select_related("item")
    if not (asked.crew or asked.kind or asked.tag):
        return rows
    own = Q(verb="cleaned")
    for column, value in (
        ("crew", asked.crew),
        ("item__kind", asked.kind),
        ("item__labels__code", asked.tag),
    ):
        own &= Q(**{column: value}) if value else Q()
    baths = in_period(asked, heads, "store").filter(own, bath__isnull=False).values("bath")
    return rows.filter(own | Q(item=None, bath__in=baths))


def _group(each: Judged) -> Hashable:
    row = each.row
    if row.verb != "cleaned" or row.act is None:
        return row.pk
    assert row.item is not None  # noqa: S101 the verb's family says so
    told = tuple(sorted((name, str(value)) for name, value in row.detail.items()))
    late = _lateness.lateness(row)
    return row.act, row.item.kind_id, row.crew_id, row.by_id, row.bath, told, each.why, late


def _line(some: list[Judged]) -> Line:
    row, bath, why = some[0]
    if row.verb == "cleaned":
        cells = say.of_pieces([each.row for each in some], bath, why)
    else:
        cells = say.of_bath(row, bath or say.UNKNOWN)
    return Line(row.pk, row.happened_at, where(row), cells, tuple(each.row.pk for each in some[1:]))


class Sums(Tally):
    """`cleanings` and `void` count pieces."""

    def __init__(self) -> None:
        super().__init__()
        self.baths = self.tests = self.failed = self.cleanings = self.crews = self.void = self.late = 0

    def add(self, line: Line) -> None:
        super().add(line)
        cells = dict(zip((column.name for column in REGISTER.sealed), line.cells, strict=True))
        what, pieces, result = cells["what"], cells["pieces"] or 0, _words(cells["result"])
        self.baths += what == word(say.MIXED)
        self.tests += what == word(say.TESTED)
        self.failed += what == word(say.TESTED) and say.FAILED in result
        self.late += _lateness.LATE_WORD in _words(cells["recorded"])
        if isinstance(pieces, int):
            self.cleanings += pieces
            self.crews += pieces if say.WHOLE_CREW in _words(what) else 0
            self.void += pieces if say.COUNTS_NOT in result else 0

    def said(self) -> list[tuple[str, Mapping[str, Any]]]:
        return [
            (
                gettext_noop(
                    "Baths mixed: %(baths)s. Strength tests: %(tests)s, of which %(failed)s failed."
                ),
                {"baths": self.baths, "tests": self.tests, "failed": self.failed},
            ),
            (
                gettext_noop(
                    "Pieces cleaned: %(pieces)s, of which %(crews)s were told of as a whole crew, not scanned one by "
                    "one, and %(void)s do not count."
                ),
                {"pieces": self.cleanings, "crews": self.crews, "void": self.void},
            ),
            (gettext_noop("Lines written in the book late: %(late)s."), {"late": self.late}),
        ]


def _words(cell: Any) -> set[str]:
    cells = cell if isinstance(cell, tuple) else (cell,)
    return {str(each.key) for each in cells if isinstance(each, Named) and each.what == "word"}


REGISTER = Register(
    name="sanitation",
    title=gettext_noop("Sanitation"),
    about=gettext_noop("Baths mixed, tested and emptied, and what was sterilised, washed or dried, by whom."),
    columns=(
        Column("at", gettext_noop("Done"), 1.25),
        Column("what", gettext_noop("What"), 1.1),
        Column("bath", gettext_noop("Bath"), 0.8),
        Column("piece", gettext_noop("Which pieces"), 3.2),
        Column("pieces", gettext_noop("Pieces"), 0.65, "right"),
        Column("product", gettext_noop("Recipe and product"), 1.7),
        Column("figures", gettext_noop("Amounts, strength, time"), 1.75),
        Column("by", gettext_noop("By"), 1.2),
        Column("recorded", gettext_noop("Recorded after (h:min)"), 0.8, "right"),
        Column("result", gettext_noop("Result"), 1.2),
    ),
    lines=lines,
    filters=frozenset({"store", "crew", "kind", "tag"}),
    notes=(
        gettext_noop("“Sterilised” means disinfected by the named recipe."),
        gettext_noop(
            "Pieces that were done together in one act stand in one line, with the place in the book of the first. "
            "Under “Bath” stands the place in the book of its mixing."
        ),
        _lateness.RULE,
        gettext_noop(
            "Whether a dip counts is worked out from the book as it stood when this was printed: a bath that fails its "
            "strength test voids the dips in it since its last good test, and those after it until a good one."
        ),
    ),
    cautions=("bleach", "chlorine_powder", "quat", "alcohol"),
    signatures=(gettext_noop("Wash place"), gettext_noop("Safety officer")),
    daily=True,
    tally=Sums,
)
