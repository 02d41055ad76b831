"""Training given: a line for each picker who was there, with a place for their signature."""

from collections.abc import Iterator
from typing import Any
from uuid import UUID

from equipment.domain.verbs.trained import OUTSIDE, TOPICS
from equipment.domain.words import gettext_noop
from equipment.models.book import Entry
from equipment.models.registers._phrases import word
from equipment.models.registers.base import Asked, Cell, Column, Heads, Line, Named, Register, Tally
from equipment.models.registers.reading import in_period, standing, where

FROM_OUTSIDE = gettext_noop("from outside, see the note")


def lines(asked: Asked, heads: Heads) -> Iterator[Line]:
    rows = in_period(asked, heads, "store", "crew", "picker")
    for some in standing(rows, ["trained"], heads):
        for entry in some:
            yield Line(entry.pk, entry.happened_at, where(entry), _cells(entry))


def _cells(entry: Entry) -> tuple[Cell, ...]:
    return (
        entry.happened_at,
        Named("crew", entry.crew_id or ""),
        Named("picker", entry.picker_id or 0),
        word(TOPICS[entry.detail["topic"]]),
        entry.detail.get("minutes"),
        _trainer(entry),
        Named("note", str(entry.pk), entry.note_digest) if entry.note_digest else None,
    )


def _trainer(entry: Entry) -> Cell:
    trainer = entry.detail.get("trainer")
    return word(FROM_OUTSIDE) if trainer == OUTSIDE else Named("user", trainer or entry.by_id)


class Lessons(Tally):
    """How many were trained in what: people, each once, and how often."""

    def __init__(self) -> None:
        super().__init__()
        self.people: dict[str, set[UUID | str | int]] = {}

    def add(self, line: Line) -> None:
        super().add(line)
        topic, picker = line.cells[3], line.cells[2]
        self.people.setdefault(str(topic.key), set()).add(picker.key)  # type: ignore[union-attr]

    def said(self) -> list[tuple[str, dict[str, Any]]]:
        template = gettext_noop("%(topic)s: %(people)s people.")
        found = sorted(self.people.items())
        return [(template, {"topic": word(topic), "people": len(them)}) for topic, them in found]


REGISTER = Register(
    name="training",
    title=gettext_noop("Training given"),
    about=gettext_noop("Who was shown what, when and by whom, with a place for each to sign."),
    columns=(
        Column("at", gettext_noop("When"), 1.1),
        Column("crew", gettext_noop("Crew"), 0.9),
        Column("picker", gettext_noop("Picker"), 1.7),
        Column("topic", gettext_noop("What was shown"), 2.6),
        Column("minutes", gettext_noop("Minutes"), 0.6, "right"),
        Column("trainer", gettext_noop("Given by"), 1.3),
        Column("note", gettext_noop("Note"), 1.1),
        Column("signed", gettext_noop("Signature"), 1.8, sign=True),
    ),
    lines=lines,
    filters=frozenset({"store", "crew", "picker"}),
    notes=(
        gettext_noop(
            "Whoever signs says that they were there and understood it. A lesson takes the place of no label, no "
            "safety sheet and no law."
        ),
    ),
    cautions=("ladder", "clippers", "bleach"),
    signatures=(gettext_noop("Trainer"), gettext_noop("Safety officer")),
    tally=Lessons,
)
