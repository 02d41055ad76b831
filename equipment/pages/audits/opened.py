"""The piece that lies open at an audit: whether it counts, what is known of it, and how it can be answered."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils import timezone
from django.utils.translation import gettext as _

from crews.models import User
from equipment.actions import names
from equipment.actions.audit.answering import recorded_checks, short_checks
from equipment.actions.audit.reading import standing_of
from equipment.actions.faults_of import faults_of
from equipment.models import Audit, AuditAnswer, AuditPiece, ItemState
from equipment.pages import places
from equipment.pages.audits.words import person
from equipment.pages.fault_texts import cautions
from equipment.pages.inspect_form import InspectForm
from equipment.pages.piece import Asked, piece


@dataclass(frozen=True)
class Check:
    """A checklist to be answered point by point."""

    code: str
    name: str
    form: InspectForm

    @property
    def wrong(self) -> bool:
        return bool(self.form.errors)


@dataclass(frozen=True)
class Opened:
    """`drawn`: it is of the sample. `answer` stands already, `by` somebody. `at_once`: one press says that it is good.
    `known` are the faults that are open by the book."""

    state: ItemState
    where: str
    drawn: bool
    answer: AuditAnswer | None
    by: str
    known: Sequence[str]
    faults: Sequence[tuple[str, str, str]]
    at_once: bool
    forms: Sequence[Check]
    cautions: Sequence[str]


def opened(user: User, audit: Audit, state: ItemState, bound: InspectForm | None = None) -> Opened:
    """`bound` is a checklist that was sent and is not whole."""
    row = AuditPiece.objects.filter(audit=audit, item=state.item_id).first()
    answer, struck = standing_of(row) if row else (None, False)
    answer = None if struck else answer
    shown, kind = piece(state, timezone.now()), state.item.kind_id
    recorded = recorded_checks(kind)
    return Opened(
        state,
        places.where(state),
        row is not None,
        answer,
        person(answer.by) if answer else "",
        [names.fault(fault.fault) for fault in shown.open_faults if fault.mended_at is None],
        [(each.code, _(each.name), _(each.look_for)) for each in faults_of(kind)],
        bool(short_checks(kind)) or not recorded,
        [_check(Asked("inspect", user, shown, code), bound) for code in recorded],
        cautions(kind),
    )


def _check(asked: Asked, bound: InspectForm | None) -> Check:
    form = bound if bound is not None and bound.asked.about == asked.about else InspectForm(None, asked)
    return Check(asked.about, names.checklist(asked.about), form)
