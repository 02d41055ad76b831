"""A lesson is written down: one entry for each picker who was there, all of one act; and taken back as a whole."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Q
from django.utils.translation import gettext as _

from crews.models import Crew, Picker
from equipment.actions.wording import NotDone
from equipment.actions.writing import Pen, new_id
from equipment.domain import chain
from equipment.ledger import Recorded, lock_crews, writing
from equipment.models import Entry


@dataclass(frozen=True, slots=True)
class Lesson:
    """`topic` is one of `trained.TOPICS`; `trainer` as in the verb's detail; `note` goes with each picker's line."""

    topic: str
    at: datetime
    trainer: int | None = None
    minutes: int | None = None
    note: str = ""

    @property
    def detail(self) -> dict[str, Any]:
        given = {"topic": self.topic, "trainer": self.trainer, "minutes": self.minutes}
        return {name: value for name, value in given.items() if value is not None}


def train(
    pen: Pen, crew: Crew, pickers: Sequence[Picker], lesson: Lesson, act: UUID | None = None
) -> Entry | None:
    """Write it down as one act, `act` where that was made before. None where that is done; where the act is in the book
    already, its first line, and nothing is written. Raises ValueError where nobody was there."""
    if not pickers:
        raise ValueError("A lesson without anybody is none.")
    act = act or new_id()
    fields = {"crew": crew.pk, "act": act, "happened_at": lesson.at, "note": lesson.note}
    with writing():
        lock_crews([crew.pk])
        before = Entry.objects.filter(act=act).order_by("id").first()
        if before is None:
            pen.record(
                [pen.draft("trained", picker=each.pk, detail=lesson.detail, **fields) for each in pickers]
            )
    return before


def is_of(before: Entry, pickers: Sequence[Picker], lesson: Lesson) -> bool:
    """Whether the act of this line tells this very lesson."""
    there = Entry.objects.filter(act=before.act, verb="trained").values_list("picker", flat=True)
    same = (before.happened_at, before.detail) == (lesson.at, chain.plain(lesson.detail))
    return same and sorted(there) == sorted(each.pk for each in pickers)


def take_back(pen: Pen, crew: Crew, lesson: UUID) -> Recorded:
    """Strike every line of a lesson that still counts; it goes by its act, or by its only line where that has none.
    Raises NotDone where nothing of it is left."""
    lines = Entry.objects.filter(Q(act=lesson) | Q(act=None, pk=lesson), crew=crew, item=None, verb="trained")
    gone = struck(crew)
    standing = [pk for pk in lines.order_by("id").values_list("pk", flat=True) if pk not in gone]
    if not standing:
        raise NotDone(_("That lesson is struck already, or is none of this crew's. Look at the list again."))
    undoing = new_id()
    return pen.record(
        [pen.draft("reversed", crew=crew.pk, act=undoing, detail={"entry": str(entry)}) for entry in standing]
    )


def struck(crew: Crew) -> set[UUID]:
    """The lines of the crew that were taken back."""
    rows = Entry.objects.filter(crew=crew, item=None, verb="reversed").values_list("detail", flat=True)
    return {UUID(detail["entry"]) for detail in rows}
