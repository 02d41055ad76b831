"""Does the book still say what was written in it, and do the states say what the book says?

Reads only, in bounded memory, while the counters go on working.
"""

from collections.abc import Iterator

from django.db import connection
from django.utils import timezone

from equipment.actions.going_on import Mark
from equipment.actions.refolding import Say, unheard
from equipment.actions.verify_book.findings import Finding, Verified
from equipment.actions.verify_book.pieces import pieces
from equipment.actions.verify_book.run import Run, so_far
from equipment.models import Entry, triggers

__all__ = ["Finding", "Run", "Verified", "so_far", "verify_book"]


def verify_book(say: Say = unheard, mark: Mark | None = None, *, resume: bool = False) -> Verified:
    """Recompute every seal, every state and the list of gear; `say` is told of the progress of the first two in turn.

    How far it is, is kept at `mark`. With `resume` it goes on from there, where there is anything fresh. It then says
    of each line what a run that was never stopped says: that it was as sealed when it was looked at. What was found
    before is told again. What was changed since in the part that was done is not found, as nothing is that is changed
    behind the back of any run; of that part only the last line of each chain is looked at again, and where one is not
    as it was, all begins anew.
    """
    run = (so_far(mark) if resume and mark else None) or Run()
    total = Entry.objects.count()
    for piece in pieces(run.stage, run.place):
        run.add(piece, piece.look())
        if mark:
            mark.keep(timezone.now(), run.plain)
        if piece.stage not in ("notes", "gear"):
            say(min(run.done, total), total)
    if mark:
        mark.clear()
    findings = (*_unguarded(), *run.findings)
    return Verified(run.entries, run.heads, findings, run.more)


def _unguarded() -> Iterator[Finding]:
    for name in sorted(triggers.absent(connection)):
        yield Finding("unguarded", {"trigger": name})
