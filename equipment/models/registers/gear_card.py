"""One picker's gear card: every piece that they were handed, what became of it, and what they hold, to be signed."""

from collections.abc import Iterable, Iterator
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from equipment.domain.words import gettext_noop
from equipment.models.book import Entry
from equipment.models.registers._lives import Stood, lives
from equipment.models.registers._phrases import word
from equipment.models.registers.base import Asked, Beside, Cell, Column, Heads, Line, Named, Register, Tally
from equipment.models.registers.reading import at_heads, standing, where

TOLD_BY = "handed_out returned stowed missed written_off".split()
ENDS = {
    "returned": gettext_noop("given back"),
    "stowed": gettext_noop("left in the orchard"),
    "missed": gettext_noop("missing"),
    "written_off": gettext_noop("written off"),
    "handed_out": gettext_noop("passed on"),
}
HOLDS = gettext_noop("holds it")
AGAIN = gettext_noop("handed out anew")


def lines(asked: Asked, heads: Heads) -> Iterator[Line]:
    """What they had in the period, if only for a part of it, and what they still hold."""
    for some in standing(_rows(asked, heads), ["handed_out"], heads):
        ends: dict[UUID, Stood] = {}
        for _item, life in lives({entry.item_id for entry in some}, heads, TOLD_BY):
            ends |= _ends(life)
        for entry in some:
            end = ends.get(entry.pk)
            if end is None or (entry.happened_at < asked.until and end.happened_at >= asked.since):
                yield Line(entry.pk, entry.happened_at, where(entry), _cells(entry, end))


def _rows(asked: Asked, heads: Heads) -> QuerySet[Entry]:
    wanted = {"crew": asked.crew, "item__kind": asked.kind}
    limits = {name: value for name, value in wanted.items() if value}
    return at_heads(heads).filter(picker=asked.picker, **limits).select_related("item")


def _ends(life: Iterable[Stood]) -> dict[UUID, Stood]:
    """Each hand-out in the item's life with the next line that took the piece from whoever had it."""
    ends: dict[UUID, Stood] = {}
    had: Stood | None = None
    for entry in life:
        if had is not None:
            ends[had.id] = entry
        had = entry if entry.verb == "handed_out" else None
    return ends


def _cells(entry: Entry, end: Stood | None) -> tuple[Cell, ...]:
    item: Any = entry.item
    return (
        entry.happened_at,
        Named("kind", item.kind_id),
        Named("tag", str(item.pk)),
        Beside((item.make, item.size)),
        Named("user", entry.by_id),
        _became(entry, end),
    )


def _became(entry: Entry, end: Stood | None) -> Cell:
    if end is None:
        return (word(HOLDS),)
    anew = end.verb == "handed_out" and end.picker == entry.picker_id
    return Beside((word(AGAIN if anew else ENDS[end.verb]), end.happened_at))


class Holding(Tally):
    """How many pieces the picker holds."""

    def __init__(self) -> None:
        super().__init__()
        self.held = 0

    def add(self, line: Line) -> None:
        super().add(line)
        self.held += line.cells[-1] == (word(HOLDS),)

    def said(self) -> list[tuple[str, dict[str, Any]]]:
        return [(gettext_noop("Pieces still held: %(held)s."), {"held": self.held})]


REGISTER = Register(
    name="gear-card",
    title=gettext_noop("Gear card"),
    about=gettext_noop("What one picker was handed, what became of it, what they hold; to be signed."),
    columns=(
        Column("at", gettext_noop("Handed out"), 1.2),
        Column("kind", gettext_noop("Kind"), 1.1),
        Column("item", gettext_noop("Piece"), 0.8),
        Column("make", gettext_noop("Make and size"), 1.2),
        Column("by", gettext_noop("By"), 1.2),
        Column("became", gettext_noop("What became of it"), 1.9),
        Column("signed", gettext_noop("Picker's mark"), 1.3, sign=True),
    ),
    lines=lines,
    filters=frozenset({"picker", "crew", "kind"}),
    needs=frozenset({"picker"}),
    notes=(
        gettext_noop(
            "I have received these pieces whole and working, and was shown how to use them. I bring back what comes "
            "back, say at once what is broken, hurt somebody or is lost, and work with nothing that is faulty."
        ),
        gettext_noop(
            "If something in this list is not right, it is written here before I sign. My signature is no promise to "
            "pay, and this card is not proof of a debt."
        ),
        gettext_noop("Pieces that are still held are listed whenever they were handed out."),
    ),
    signatures=(gettext_noop("Picker"), gettext_noop("Storeman")),
    tally=Holding,
)
