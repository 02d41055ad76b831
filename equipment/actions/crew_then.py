"""Which crew a picker was in at a time past: an entry that arrives late names the holder's crew as it was then."""

from collections.abc import Iterable
from datetime import datetime
from uuid import UUID

from equipment.models import Entry
from equipment.models.scans import ScannedLoan


def crew_then(loan: ScannedLoan, at: datetime) -> tuple[str | None, bool]:
    """The crew of the loan's picker at `at` (UTC), and whether they were in it.

    Of one who was in none then it is the crew of now, as if they had been in it (who is put into a crew at breakfast
    got the gear before), else the last one they were in. None for one who never was in any. Only an entry that is
    older than their being in the crew of now costs queries.
    """
    now, since = loan.crew, loan.crew_since
    if now and since and since <= at:
        return now, True
    moves = _moves(loan.picker_id)
    if then := _crew_at(moves, at):
        return then, True
    joined = [move.crew_id for move in moves if move.verb == "joined"]
    return (now, True) if now else (joined[-1] if joined else None, False)


def crew_of(picker: int, at: datetime) -> str | None:
    """The crew that the picker was in at `at`; None for none. Two queries."""
    return _crew_at(_moves(picker), at)


def _moves(picker: int) -> list[Entry]:
    """What the crews' own lines say of the picker, in order, without what was taken back."""
    lines = Entry.objects.filter(item=None, lot=None, crew__isnull=False)
    moves = list(
        lines.filter(picker=picker, verb__in=("joined", "parted")).order_by("happened_at", "device_seq", "id")
    )
    struck = lines.filter(verb="reversed", crew__in={move.crew_id for move in moves})
    undone = {UUID(detail["entry"]) for detail in struck.values_list("detail", flat=True)}
    return [move for move in moves if move.id not in undone]


def _crew_at(moves: Iterable[Entry], at: datetime) -> str | None:
    crews: dict[str, datetime] = {}
    for move in moves:
        if move.happened_at <= at and move.crew_id:
            if move.verb == "joined":
                crews.setdefault(move.crew_id, move.happened_at)
            else:
                crews.pop(move.crew_id, None)
    return max(crews, key=lambda crew: (crews[crew], crew), default=None)
