"""The sample of an audit, line by line: where each piece is, how it is answered. Page and paper tell the same."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from equipment.actions import names
from equipment.actions.audit.reading import Standing
from equipment.models import Audit, AuditAnswer, AuditPiece, Entry, ItemState
from equipment.pages import places
from equipment.pages.audits.words import person


@dataclass(frozen=True)
class Line:
    """A piece of the sample. `tag` is what it wore when it was drawn, `worn` what it wears now. `said` is "" where it
    is not answered; `book` names the lines of the book that say so."""

    turn: int
    tag: str
    worn: str
    where: str
    place: str
    said: str = ""
    words: str = ""
    faults: str = ""
    by: str = ""
    at: datetime | None = None
    answer: int | None = None
    book: str = ""


def lines(audit: Audit, standing: Standing, book: bool = False) -> list[Line]:
    """All of the sample in the order of drawing, in one query; with the places of its lines in the `book` in two."""
    rows = audit.pieces.select_related(
        "item__state__store", "item__state__picker", "item__state__crew", "item__state__block"
    ).defer("item__state__fold")
    known = _in_the_book(standing) if book else {}
    return [_line(row, row.item.state, standing.answers.get(row.item_id), known) for row in rows]


def _line(row: AuditPiece, state: ItemState, answer: AuditAnswer | None, known: Mapping[str, str]) -> Line:
    given: dict[str, Any] = {}
    if answer is not None:
        given = {
            "said": answer.said,
            "words": str(answer.get_said_display()),
            "faults": ", ".join(names.fault(fault) for fault in answer.faults),
            "by": person(answer.by),
            "at": answer.at,
            "answer": answer.pk,
            "book": ", ".join(known[entry] for entry in answer.entries if entry in known),
        }
    return Line(row.turn, row.tag, state.tag, places.where(state), state.place, **given)


def _in_the_book(standing: Standing) -> dict[str, str]:
    entries = [entry for answer in standing.answers.values() for entry in answer.lines]
    rows = Entry.objects.filter(pk__in=entries).values_list("pk", "store", "position")
    return {str(pk): f"{store} {position}" for pk, store, position in rows}


def to_do(found: Sequence[Line]) -> list[Line]:
    """What is not answered, place by place, as one walks."""
    return sorted((line for line in found if not line.said), key=lambda line: (line.where, line.worn))


def done(found: Sequence[Line]) -> list[Line]:
    """What is answered: what is faulty or not there first, then the newest."""
    answered = [line for line in found if line.at is not None]
    return sorted(answered, key=lambda line: (line.said == AuditAnswer.Said.GOOD, -_stamp(line.at)))


def _stamp(at: datetime | None) -> float:
    return at.timestamp() if at else 0.0
