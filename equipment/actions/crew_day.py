"""A crew's day as its supervisor tells it: in a block, out of it, stopped, at a time that may lie back a little; and a
line taken back. What makes no sense is said instead of written: the book itself would take it.
"""

from datetime import datetime
from uuid import UUID

from django.db.models import Q, QuerySet
from django.utils import timezone
from django.utils.translation import gettext as _

from crews.models import Crew
from equipment.actions import visit
from equipment.actions.wording import NotDone, moment
from equipment.actions.writing import Pen
from equipment.domain.visits import LONGEST_UNTOLD
from equipment.ledger import Outcome
from equipment.models import Entry, Visit

TOLD = ("arrived", "left", "stopped", "morning_checked")


def come_in(pen: Pen, crew: Crew, block: str, at: datetime) -> Outcome:
    """The crew came into `block` at `at` (UTC); a visit elsewhere ends. Raises NotDone."""
    there = visit_at(crew, at)
    if there is not None and there.block_id == block:
        said = _("They are in %(block)s already, since %(time)s.")
        raise NotDone(said % {"block": block, "time": moment(there.at)})
    return visit.arrive(pen, crew.pk, block, at)


def go(pen: Pen, crew: Crew, at: datetime) -> Outcome:
    """The crew left its block at `at`. Raises NotDone."""
    _in_some_block(crew, at)
    return visit.leave_block(pen, crew.pk, at)


def stop(pen: Pen, crew: Crew, cause: str, at: datetime) -> Outcome:
    """The crew stopped picking at `at`, see `domain.verbs.stopped.CAUSES`. Raises NotDone."""
    _in_some_block(crew, at)
    return visit.stop(pen, crew.pk, cause, at)


def take_back(pen: Pen, crew: Crew, entry: UUID, since: datetime) -> Outcome:
    """Strike one of the crew's lines since `since` (UTC). Raises NotDone where it is not one of them any more."""
    if not told(crew, since).filter(pk=entry).exclude(pk__in=struck(crew, since)).exists():
        raise NotDone(
            _("That line is struck already, or not of these days. Look at the list, then try again.")
        )
    draft = pen.draft("reversed", crew=crew.pk, detail={"entry": str(entry)})
    return pen.record([draft]).outcomes[0]


def told(crew: Crew, since: datetime) -> QuerySet[Entry]:
    """What was told of the crew's days since then, in order, struck lines included."""
    rows = Entry.objects.filter(crew=crew, item=None, lot=None, verb__in=TOLD, happened_at__gte=since)
    return rows.order_by("happened_at", "device", "device_seq", "id")


def struck(crew: Crew, since: datetime) -> set[UUID]:
    """The lines that were taken back. A line cannot be taken back before it happened."""
    rows = Entry.objects.filter(crew=crew, item=None, lot=None, verb="reversed", happened_at__gte=since)
    return {UUID(detail["entry"]) for detail in rows.values_list("detail", flat=True)}


def visit_at(crew: Crew, at: datetime) -> Visit | None:
    """The visit that the crew is on at `at`; one that nobody ended is over after a day's work."""
    rows = Visit.objects.filter(crew=crew, at__lte=at).filter(
        Q(until__gt=at) | Q(until=None, at__gt=at - LONGEST_UNTOLD)
    )
    return rows.last()


def _in_some_block(crew: Crew, at: datetime) -> None:
    if visit_at(crew, at) is None:
        said = _("The book has them in no block at %(time)s. Write down first where they came in, and when.")
        raise NotDone(said % {"time": moment(timezone.localtime(at))})
