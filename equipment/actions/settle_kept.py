"""What is done with a note that the book could not take: tried again, let in by an officer, or left out with a why."""

from collections.abc import Iterable
from datetime import datetime
from uuid import UUID

from django.db.models import Count
from django.utils.translation import gettext as _

from crews import policy
from crews.models import User
from equipment.actions.batch import Answer
from equipment.actions.receive import place_kept
from equipment.actions.wording import NotDone, refusal
from equipment.actions.writing import new_id
from equipment.models import KeptEntry

# Codes that an officer's word answers; any other the entry itself has to answer.
VOUCHED = frozenset({"no_right"})


def may_take_in(kept: KeptEntry, by: User) -> bool:
    """Whether `by` may let it in, whoever wrote it: an officer, and what is refused for want of a right alone."""
    officer = by.is_superuser or policy.OFFICER in by.roles
    return officer and (kept.revoked or kept.code in VOUCHED)


def may_leave_out(kept: KeptEntry, by: User) -> bool:
    """What a revoked phone sent waits for an officer."""
    return not kept.revoked or by.is_superuser or policy.OFFICER in by.roles


def try_again(kept: KeptEntry, at: datetime) -> None:
    """Raises NotDone, with what it is refused for now."""
    _wait_still(kept)
    _placed(place_kept(kept, at))


def renumber(kept: KeptEntry, by: User, at: datetime) -> None:
    """Both lines of one number happened: write this one under a new number. Raises NotDone."""
    _wait_still(kept)
    if kept.code != "id_reused" or kept.revoked:
        raise NotDone(_("Only a line whose number another has taken gets a new one."))
    _placed(place_kept(kept, at, new_id=new_id()))
    KeptEntry.objects.filter(pk=kept.pk).update(decided_by=by)


def take_in(kept: KeptEntry, by: User, at: datetime) -> None:
    """Let it in on the word of `by`: it is written as its author's, at the time that they told. Raises NotDone."""
    _wait_still(kept)
    if not may_take_in(kept, by):
        raise NotDone(_("The safety officer lets it in."))
    _placed(place_kept(kept, at, vouched=True))
    KeptEntry.objects.filter(pk=kept.pk).update(decided_by=by)


def take_in_all(device: UUID, by: User, at: datetime) -> tuple[int, int]:
    """Let in all that waits of one phone, in its own order: how many went in, and how many not."""
    rows = KeptEntry.objects.waiting().filter(device=device).select_related("by", "device")
    waiting = [kept for kept in rows.order_by("received_at", "id") if may_take_in(kept, by)]
    went_in = sum(_went_in(kept, by, at) for kept in waiting)
    # What was sent in another order than it happened may need a second look: a dip before its bath.
    left = [kept for kept in waiting if KeptEntry.objects.waiting().filter(pk=kept.pk).exists()]
    went_in += sum(_went_in(kept, by, at) for kept in left)
    return went_in, len(waiting) - went_in


def set_aside(kept: KeptEntry, by: User, why: str, at: datetime) -> None:
    """Leave it out for good. It is kept, with who left it out and why. Raises NotDone."""
    _wait_still(kept)
    if not may_leave_out(kept, by):
        raise NotDone(_("The safety officer decides about what this phone sent."))
    if not why.strip():
        raise NotDone(_("Write down why it is left out."))
    row = KeptEntry.objects.waiting().filter(pk=kept.pk)
    row.update(set_aside_at=at, decided_by=by, why=why.strip()[:200])


def _went_in(kept: KeptEntry, by: User, at: datetime) -> bool:
    try:
        take_in(kept, by, at)
    except NotDone:
        return False
    return True


def _wait_still(kept: KeptEntry) -> None:
    if kept.placed_at or kept.set_aside_at:
        raise NotDone(_("Somebody has seen to it meanwhile. Look at the list again."))


def _placed(answer: Answer) -> None:
    if answer.outcome == "refused":
        raise NotDone(refusal(answer.codes[0], answer.params))


def waiting_of(devices: Iterable[UUID]) -> dict[UUID, int]:
    """How many wait of each of these phones."""
    rows = KeptEntry.objects.waiting().filter(device__in=list(devices)).order_by()
    return dict(rows.values_list("device").annotate(Count("pk")))
