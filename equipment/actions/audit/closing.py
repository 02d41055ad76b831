"""An answer is taken back; the audit is closed, and after that nothing of it changes."""

from datetime import datetime

from django.utils.translation import gettext as _

from crews.models import User
from equipment.actions.audit.answering import lock, take_off
from equipment.actions.audit.reading import standing
from equipment.actions.wording import NotDone, refusal
from equipment.actions.writing import Pen
from equipment.ledger import writing
from equipment.models import Audit, AuditAnswer, Entry


def take_back(pen: Pen, audit: Audit, answer: int) -> AuditAnswer:
    """Take back one answer, by its number, and its lines in the book. Done twice it is done once. Raises NotDone."""
    with writing():
        lock(audit)
        known = AuditAnswer.objects.select_related("piece").filter(pk=answer, piece__audit=audit).first()
        if known is None:
            raise NotDone(_("This audit has no such answer."))
        if known.undone_at is None:
            _strike(pen, audit, known)
            take_off(known, pen)
    return known


def _strike(pen: Pen, audit: Audit, known: AuditAnswer) -> None:
    """Its lines that are not struck yet, the last first. Raises NotDone where a later line stands on one of them."""
    gone = set(
        Entry.objects.filter(item=known.piece.item_id, verb="reversed").values_list(
            "detail__entry", flat=True
        )
    )
    left = [entry for entry in reversed(known.entries) if entry not in gone]
    drafts = [
        pen.draft("reversed", item=known.piece.item_id, act=audit.act, detail={"entry": entry})
        for entry in left
    ]
    if not drafts:
        return
    refused = [code for each in pen.record(drafts).outcomes if not each.recorded for code in each.codes]
    if refused:
        said = _("Something was done with %(tag)s since, and stands on that answer.")
        params = {"tag": known.piece.tag}
        raise NotDone(" ".join([said % params, *(refusal(code, params) for code in dict.fromkeys(refused))]))


def close(audit: Audit, by: User, at: datetime, why: str = "") -> Audit:
    """Close it at `at` (UTC). One that is not answered to the end is closed with a written why, and says nothing of
    its lot. Raises NotDone."""
    with writing():
        lock(audit)
        left = standing(audit).left
        if left and not why.strip():
            raise NotDone(_("Not all of it is answered. Write why it is closed unfinished."))
        audit.closed_by, audit.closed_at = by, at
        audit.why = why.strip() if left else ""
        audit.save(update_fields=["closed_by", "closed_at", "why"])
    return audit
