"""Overrides of the gate: what went out although something stood against it; and kit lines that were waived."""

from collections.abc import Iterator
from typing import Any

from django.db.models import Q, QuerySet

from equipment.domain import gate
from equipment.domain.words import gettext_noop
from equipment.models.book import Entry
from equipment.models.registers._phrases import word
from equipment.models.registers.base import Asked, Cell, Column, Heads, Line, Named, Register, Tally
from equipment.models.registers.reading import in_period, standing, where

LET_GO = gettext_noop("let go all the same")
WAIVED = gettext_noop("does without")
STANDS_IN = gettext_noop("goes in place of")
BY_HAND = Q(verb="handed_out") & (Q(detail__has_key="overridden") | Q(detail__has_key="waived"))


def lines(asked: Asked, heads: Heads) -> Iterator[Line]:
    for some in standing(_rows(asked, heads), ["handed_out", "waived"], heads):
        for entry in some:
            if entry.verb == "waived" or entry.detail.get("overridden") or entry.detail.get("waived"):
                yield Line(entry.pk, entry.happened_at, where(entry), _cells(entry))


def _rows(asked: Asked, heads: Heads) -> QuerySet[Entry]:
    """A waived line has no piece: its kind stands in its detail."""
    rows = in_period(asked, heads, "store", "crew", "picker").filter(BY_HAND | Q(verb="waived"))
    if asked.kind:
        rows = rows.filter(Q(item__kind=asked.kind) | Q(verb="waived", detail__kind=asked.kind))
    return rows.select_related("item")


def _cells(entry: Entry) -> tuple[Cell, ...]:
    return (
        entry.happened_at,
        _what(entry),
        _piece(entry),
        (Named("picker", entry.picker_id or 0), Named("crew", entry.crew_id or "")),
        tuple(_reason(code) for code in entry.detail.get("overridden", ())),
        Named("note", str(entry.pk), entry.note_digest) if entry.note_digest else None,
        Named("user", entry.by_id),
        entry.detail.get("rules"),
    )


def _what(entry: Entry) -> Cell:
    if entry.verb == "waived":
        return word(WAIVED)
    if entry.detail.get("waived"):
        return word(STANDS_IN), Named("kind", entry.detail["waived"])
    return word(LET_GO)


def _piece(entry: Entry) -> Cell:
    if entry.item is None:
        return Named("kind", entry.detail["kind"])
    return Named("kind", entry.item.kind_id), Named("tag", str(entry.item_id))


def _reason(code: str) -> Cell:
    return word(gate.WORDS[code]) if code in gate.WORDS else code


class Overrides(Tally):
    """How many pieces, how many waived lines, and how many of either without a written why."""

    def __init__(self) -> None:
        super().__init__()
        self.waived = self.without = 0

    def add(self, line: Line) -> None:
        super().add(line)
        self.waived += line.cells[1] == word(WAIVED)
        self.without += line.cells[5] is None

    def said(self) -> list[tuple[str, dict[str, Any]]]:
        pieces, waived = (
            gettext_noop("Pieces let go: %(pieces)s."),
            gettext_noop("Kit lines waived: %(waived)s."),
        )
        without = gettext_noop("Without a written why: %(without)s.")
        return [
            (pieces, {"pieces": self.lines - self.waived}),
            (waived, {"waived": self.waived}),
            (without, {"without": self.without}),
        ]


REGISTER = Register(
    name="overrides",
    title=gettext_noop("Overrides of the gate"),
    about=gettext_noop(
        "What was let go although something stood against it, by whom and why; and what was waived."
    ),
    columns=(
        Column("at", gettext_noop("When"), 1.1),
        Column("what", gettext_noop("What was done"), 1.2),
        Column("item", gettext_noop("Piece"), 1.1),
        Column("to", gettext_noop("To whom"), 1.6),
        Column("reasons", gettext_noop("What stood against it"), 1.6),
        Column("note", gettext_noop("Why, as written"), 2.2),
        Column("by", gettext_noop("By"), 1.2),
        Column("rules", gettext_noop("Rules, version"), 0.7, "right"),
    ),
    lines=lines,
    filters=frozenset({"store", "crew", "kind", "picker"}),
    notes=(
        gettext_noop(
            "By the rules nobody lets go a ladder whose structure has failed, a trailer without brake or coupling, "
            "cracked goggles, or a piece that may carry a disease. If one stands here all the same, ask why."
        ),
    ),
    signatures=(gettext_noop("Safety officer"),),
    tally=Overrides,
)
