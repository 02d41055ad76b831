"""Where an audit stands: which piece is answered how, and what that adds up to."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from uuid import UUID

from django.db.models import QuerySet

from crews.models import User
from equipment.domain.audit import Answers, Finding, finding
from equipment.models import Audit, AuditAnswer, AuditPiece, Entry
from equipment.models.audits import ABSENT, FAULTY


@dataclass(frozen=True, slots=True)
class Standing:
    """`answers` by item, those that count. `struck`: answers whose lines were taken back in the book by another way:
    while the audit is open they do not count, and their pieces are to be looked at again."""

    audit: Audit
    answers: Mapping[UUID, AuditAnswer]
    struck: Sequence[AuditAnswer]

    @property
    def counts(self) -> Counter[str]:
        """How many are good, faulty, absent."""
        return Counter(answer.said for answer in self.answers.values())

    @property
    def left(self) -> int:
        return self.audit.sample - len(self.answers)

    @property
    def finding(self) -> Finding | None:
        """None before all of the sample is answered: what was found so far says nothing that one could stand on."""
        if self.left:
            return None
        counts = self.counts
        return finding(self.audit.question, Answers(self.audit.sample, counts[FAULTY], counts[ABSENT]))


def standing(audit: Audit) -> Standing:
    """One query, and one more where something is answered with a line in the book."""
    given = list(_given().filter(piece__audit=audit))
    struck = _struck(given)
    dropped = {answer.pk for answer in struck} if audit.closed_at is None else set()
    answers = {answer.piece.item_id: answer for answer in given if answer.pk not in dropped}
    return Standing(audit, answers, struck)


def standing_of(piece: AuditPiece) -> tuple[AuditAnswer | None, bool]:
    """The answer of one piece, and whether its lines were taken back by another way, so that it does not count."""
    known = _given().filter(piece=piece).first()
    return known, known is not None and bool(_struck([known]))


def last_answer(audit: Audit, by: User) -> AuditAnswer | None:
    """What this person answered last."""
    return _given().filter(piece__audit=audit, by=by).order_by("at", "pk").last()


def _given() -> QuerySet[AuditAnswer]:
    return AuditAnswer.objects.filter(undone_at=None).select_related("piece__audit", "by")


def _struck(answers: Sequence[AuditAnswer]) -> list[AuditAnswer]:
    items = [answer.piece.item_id for answer in answers if answer.entries]
    if not items:
        return []
    rows = Entry.objects.filter(item__in=items, verb="reversed").values_list("detail__entry", flat=True)
    gone = {UUID(entry) for entry in rows}
    return [answer for answer in answers if answer.entries and gone.issuperset(answer.lines)]
