"""The crews' morning checks: who was there, what was answered, what was not in order and what was done about it."""

from collections.abc import Iterator, Mapping
from typing import Any

from equipment.domain.words import gettext_noop
from equipment.models.book import Entry
from equipment.models.registers import _lateness
from equipment.models.registers._after_check import Around, around, key
from equipment.models.registers._phrases import answer, number, word
from equipment.models.registers.base import Asked, Beside, Cell, Column, Heads, Line, Named, Register, Tally
from equipment.models.registers.inspections import IN_ORDER, failures
from equipment.models.registers.reading import in_period, standing, where

CHECKLIST = "morning"
NOTHING = gettext_noop("nothing in the book")


def lines(asked: Asked, heads: Heads) -> Iterator[Line]:
    """The block is the one that the crew came into first on that day."""
    rows = in_period(asked, heads, "store", "crew")
    for page in standing(rows, ["morning_checked"], heads):
        day = around(page, heads)
        for row in page:
            block, came = day.arrived.get(key(row), ("", None))
            if asked.block in ("", block):
                place = (Named("block", block), came) if block else None
                yield Line(row.pk, row.happened_at, where(row), _cells(row, place, day))


def _cells(row: Entry, place: Cell, day: Around) -> tuple[Cell, ...]:
    detail = row.detail
    checklist = detail.get("checklist") or CHECKLIST
    # In an order of their own: a database keeps the words of a detail in whatever order it likes.
    elsewhere = {"present", *detail.get("failed", ())}
    good = sorted((point, given) for point, given in detail["answers"].items() if point not in elsewhere)
    told = tuple(answer(checklist, point, given) for point, given in good)
    return (
        row.happened_at,
        (Named("crew", row.crew_id or ""), Named("user", row.by_id)),
        place,
        number(detail["answers"].get("present")),
        Beside(told, " · "),
        failures(row, checklist),
        _done(row, day) if detail.get("failed") else None,
        _lateness.recorded(row),
    )


def _done(check: Entry, day: Around) -> tuple[Cell, ...]:
    cells: list[Cell] = []
    for row in day.since(check):
        if row.verb == "waived":
            cells.append(Beside((word(gettext_noop("waived:")), Named("kind", row.detail["kind"]))))
            cells += [Named("picker", row.picker_id)] if row.picker_id else []
        elif row.verb == "morning_checked":
            again = gettext_noop("checked again, not in order:"), gettext_noop("checked again, in order:")
            cells.append(Beside((word(again[not row.detail.get("failed")]), row.happened_at)))
        elif row.item is not None:
            handed = word(gettext_noop("handed out to the crew:"))
            cells.append(Beside((handed, Named("kind", row.item.kind_id))))
    return tuple(cells) or (word(NOTHING),)


class Sums(Tally):
    def __init__(self) -> None:
        super().__init__()
        self.failed = self.late = self.untold = 0

    def add(self, line: Line) -> None:
        super().add(line)
        *_rest, found, done, recorded = line.cells
        self.failed += isinstance(found, tuple) and word(IN_ORDER) not in found
        self.untold += done == (word(NOTHING),)
        self.late += isinstance(recorded, tuple) and word(_lateness.LATE_WORD) in recorded

    def said(self) -> list[tuple[str, Mapping[str, Any]]]:
        return [
            (
                gettext_noop(
                    "Morning checks: %(all)s, of which %(failed)s found something not in order; the book tells nothing "
                    "of what was done about %(untold)s of them. Written in the book late: %(late)s."
                ),
                {"all": self.lines, "failed": self.failed, "untold": self.untold, "late": self.late},
            )
        ]


REGISTER = Register(
    name="morning-checks",
    title=gettext_noop("Morning checks"),
    about=gettext_noop(
        "What each crew answered before picking, what was not in order, and what was done about it."
    ),
    columns=(
        Column("at", gettext_noop("Checked"), 1.25),
        Column("crew", gettext_noop("Crew, by"), 1.1),
        Column("block", gettext_noop("Block, came into it"), 1.3),
        Column("present", gettext_noop("Present"), 0.7, "right"),
        Column("good", gettext_noop("In order"), 5.8),
        Column("found", gettext_noop("Not in order"), 1.8),
        Column("done", gettext_noop("Done about it that day"), 1.3),
        Column("recorded", gettext_noop("Recorded after (h:min)"), 0.8, "right"),
    ),
    lines=lines,
    filters=frozenset({"store", "crew", "block"}),
    notes=(
        gettext_noop("Counts, never names: nobody's wounds or nails stand in the book."),
        gettext_noop(
            "“Done about it” is what the book tells of that crew on that day: kit lines waived, a further check, what "
            "was handed out to the crew after the check."
        ),
        _lateness.RULE,
    ),
    signatures=(gettext_noop("Supervisor"), gettext_noop("Safety officer")),
    daily=True,
    tally=Sums,
)
