"""What the rules say to a draft: the facts of the day sealed into it, the gate's verdict, why a dip does not count."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from django.utils import timezone

from equipment.domain import gate, sealing, values
from equipment.domain.gate import Reason
from equipment.domain.verbs.cleaned import fails
from equipment.ledger.desk import Desk
from equipment.ledger.draft import Draft
from equipment.models import checklists


@dataclass(frozen=True, slots=True)
class Judged:
    """`codes` are all that was said, `blocking` those that refuse the draft under `hold`."""

    codes: tuple[str, ...] = ()
    blocking: tuple[str, ...] = ()
    reasons: tuple[Reason, ...] = ()


def sealed(desk: Desk, draft: Draft) -> Draft:
    """The draft with what the rules of the day add to its detail."""
    if draft.verb not in sealing.SEALS:
        return draft
    state = desk.folded(draft.subject).state
    facts = sealing.Facts(
        rules=desk.rules,
        kind=state.kind if isinstance(state, values.ItemState) else "",
        bath=desk.folded(("bath", draft.bath)).state if draft.bath else None,
        day=timezone.localdate(draft.happened_at) if draft.verb == "mixed" else None,
        strengths=checklists.strengths(),
        judge=lambda checklist, answers: checklists.failed(checklist, answers, draft.crew, draft.happened_at),
    )
    return replace(draft, detail={**draft.detail, **sealing.sealed(draft.verb, draft.detail, facts)})


def judged(desk: Desk, draft: Draft, state: Any) -> tuple[Draft, Judged]:
    """The draft with the gate's verdict in its detail, and what the verdict is."""
    if isinstance(state, values.LotState):
        found = _against_lot(draft, state)
        return draft, Judged(found, (*draft.against, *found))
    if draft.verb != "handed_out" or draft.item is None:
        return draft, Judged(blocking=draft.against)
    to = gate.To(draft.store, draft.picker, draft.crew, draft.detail.get("from"), draft.wants)
    traits, around = desk.traits.get(draft.item), desk.beside.around(state)
    verdict = gate.verdict(state, desk.rules, draft.happened_at, to, traits, around)
    blocking = [reason.code for reason in verdict.blocking if not overridden(reason, draft)]
    if codes := tuple(dict.fromkeys([*draft.against, *(reason.code for reason in verdict.reasons)])):
        rules = {"rules": desk.rules.version} if desk.rules.version else {}
        draft = replace(draft, detail={**draft.detail, "verdict": list(codes), **rules})
    return draft, Judged(codes, tuple(dict.fromkeys([*draft.against, *blocking])), verdict.reasons)


def _against_lot(draft: Draft, state: values.LotState) -> tuple[str, ...]:
    """Goods past their date, on the farm's calendar, are neither given nor used: they are thrown away."""
    if draft.verb not in ("given", "used") or state.expires_on is None:
        return ()
    return ("lot_expired",) if state.expires_on < timezone.localdate(draft.happened_at) else ()


def overridden(reason: Reason, draft: Draft) -> bool:
    """Whether somebody who may took this upon themselves, with a written why."""
    asked = reason.code in draft.detail.get("overridden", ())
    return asked and bool(draft.note.strip()) and bool(draft.roles & set(reason.override))


def said_of(desk: Desk, draft: Draft, before: Any) -> Mapping[str, None] | tuple[str, ...]:
    """Why a cleaning that is written down does not count."""
    if draft.verb != "cleaned":
        return ()
    state = desk.folded(("bath", draft.bath)).state if draft.bath else values.BathState()
    why = fails(before, draft.value) or desk.dips.add(draft, state)
    return (why,) if why else ()
