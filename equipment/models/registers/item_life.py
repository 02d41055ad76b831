"""One item's whole life: every line of the book about it, those taken back as well, which say so."""

from collections.abc import Iterator
from uuid import UUID

from crews.models.devices import PAPER_ID, SERVER_ID
from equipment.domain.words import gettext_noop
from equipment.models.book import Entry
from equipment.models.registers._item_words import did, more
from equipment.models.registers._lateness import RULE, lateness
from equipment.models.registers._phrases import phrase, word
from equipment.models.registers.base import Asked, Cell, Column, Heads, Line, Named, Register, Tally
from equipment.models.registers.reading import at_heads, in_period, where

PAPER = gettext_noop("from paper, entered")
STRUCK = gettext_noop("taken back here")
OF_LINE = gettext_noop("line %(line)s")


def lines(asked: Asked, heads: Heads) -> Iterator[Line]:
    """All of them are read at once: one piece's life is a few hundred lines, or a few thousand."""
    rows = list(in_period(asked, heads, "tag").order_by("happened_at", "id"))
    named = [UUID(row.detail["entry"]) for row in rows if row.verb == "reversed"]
    places = {row.pk: where(row) for row in at_heads(heads).filter(pk__in=named)}
    struck = _struck(rows, heads)
    for entry in rows:
        yield Line(entry.pk, entry.happened_at, where(entry), _cells(entry, struck, places))


def _struck(rows: list[Entry], heads: Heads) -> dict[UUID, Entry]:
    """Each line that was taken back by then, with the line that did it, whenever that was."""
    items = {row.item_id for row in rows}
    undoing = at_heads(heads).filter(item__in=items, verb="reversed").order_by("-id")
    return {UUID(row.detail["entry"]): row for row in undoing}


def _cells(entry: Entry, struck: dict[UUID, Entry], places: dict[UUID, str]) -> tuple[Cell, ...]:
    undone = struck.get(entry.pk)
    return (
        (entry.happened_at, *_late(entry)),
        did(entry.verb, entry.detail),
        _named(entry, places) if entry.verb == "reversed" else more(entry.verb, entry.detail),
        (Named("picker", entry.picker_id or 0), Named("crew", entry.crew_id or "")),
        (Named("block", entry.block_id or ""), Named("store", entry.store_id), _device(entry)),
        Named("user", entry.by_id),
        Named("note", str(entry.pk), entry.note_digest) if entry.note_digest else None,
        (word(STRUCK), undone.happened_at, Named("user", undone.by_id)) if undone else None,
    )


def _device(entry: Entry) -> Cell:
    """What is written on the server's own pages has no place of its own, and paper says so beside the time."""
    return None if entry.device_id in (SERVER_ID, PAPER_ID) else Named("device", str(entry.device_id))


def _late(entry: Entry) -> tuple[Cell, ...]:
    if entry.device_id == PAPER_ID:
        return word(PAPER), entry.recorded_at
    late = lateness(entry)
    return (word(late), entry.recorded_at) if late else ()


def _named(entry: Entry, places: dict[UUID, str]) -> tuple[Cell, ...]:
    line = places.get(UUID(entry.detail["entry"]))
    return (phrase(OF_LINE, line=line),) if line else ()


class Struck(Tally):
    """How many lines were taken back."""

    def __init__(self) -> None:
        super().__init__()
        self.struck = 0

    def add(self, line: Line) -> None:
        super().add(line)
        self.struck += line.cells[-1] is not None

    def said(self) -> list[tuple[str, dict[str, int]]]:
        return [(gettext_noop("Lines taken back: %(struck)s."), {"struck": self.struck})]


REGISTER = Register(
    name="item-life",
    title=gettext_noop("The life of one piece"),
    about=gettext_noop(
        "Every line of the book about one piece, in order; lines that were taken back say so."
    ),
    columns=(
        Column("at", gettext_noop("When"), 1.3),
        Column("did", gettext_noop("What happened"), 1.3),
        Column("more", gettext_noop("Of it"), 1.9),
        Column("who", gettext_noop("Who"), 1.5),
        Column("place", gettext_noop("Where it was written"), 1.5),
        Column("by", gettext_noop("By"), 1.2),
        Column("note", gettext_noop("Note"), 1.6),
        Column("struck", gettext_noop("Taken back"), 1.2),
    ),
    lines=lines,
    filters=frozenset({"tag"}),
    needs=frozenset({"tag"}),
    notes=(
        gettext_noop(
            "A line that was taken back counts no more; it stays in the book, and so does the line that did it."
        ),
        RULE,
    ),
    signatures=(gettext_noop("Storeman"), gettext_noop("Safety officer")),
    tally=Struck,
)
