"""A piece of the sample is looked at, and what was found goes into the book under the audit's act; or it is not there.

One answer stands for a piece: whoever comes second is told what the first one said.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from equipment.actions import names, sensible
from equipment.actions.audit.reading import standing_of
from equipment.actions.inspect_item import all_good
from equipment.actions.wording import NotDone, refusal
from equipment.actions.writing import Pen
from equipment.ledger import Draft, writing
from equipment.models import Audit, AuditAnswer, AuditPiece, ItemState, checklists, projections
from equipment.models.audits import ABSENT, FAULTY, GOOD


@dataclass(frozen=True, slots=True)
class Look:
    """What somebody found: GOOD; FAULTY, with its `fault`; ABSENT; or, with nothing said, a `checklist` answered point
    by point, whose answers say whether it is good. `expiries` are the dates on what belongs in it."""

    said: str = ""
    fault: str = ""
    checklist: str = ""
    answers: Mapping[str, Any] = field(default_factory=dict)
    expiries: Mapping[str, date] = field(default_factory=dict)
    note: str = ""


@dataclass(frozen=True, slots=True)
class Answered:
    """`said` of the piece; `counted`: it is of the sample; `already`: the same was answered before, and nothing is
    written again."""

    said: str
    counted: bool = True
    already: bool = False


def answer(pen: Pen, audit: Audit, state: ItemState, look: Look) -> Answered:
    """Write down what was found. A piece that is not of the sample goes into the book all the same, without the act.
    Raises NotDone where it cannot be, Senseless for a fault or a checklist of another kind of gear."""
    with writing():
        lock(audit)
        piece = AuditPiece.objects.filter(audit=audit, item=state.item_id).first()
        known, struck = standing_of(piece) if piece else (None, False)
        found, faults = _found(state, look, pen)
        if known is not None and not struck:
            if _same(known, look, found, pen):
                return Answered(known.said, already=True)
            if (known.said, found) != (FAULTY, FAULTY):
                raise NotDone(_already(known))
        drafts = _drafts(pen, audit if piece else None, state, look, found)
        _write(pen, drafts, state)
        if known is not None and struck:
            take_off(known, pen)
        if piece is not None:
            given = known if known is not None and not struck else _blank(piece, found, pen)
            _put_down(given, faults, drafts)
    return Answered(found, counted=piece is not None)


def short_checks(kind: str) -> list[str]:
    """The checklists of a kind that one "good" answers: of yes and no only, and not for the record."""
    return [
        code
        for code, each in checklists.by_code().items()
        if each.kind == kind and not each.recorded and all(point.answer == "yes_no" for point in each.point)
    ]


def recorded_checks(kind: str) -> list[str]:
    """Those that are answered point by point."""
    of_kind = [code for code, each in checklists.by_code().items() if each.kind == kind]
    return [code for code in of_kind if code not in short_checks(kind)]


def lock(audit: Audit) -> None:
    """Let nobody else answer or close it until the transaction ends. Raises NotDone where it is closed."""
    if Audit.objects.select_for_update().values_list("closed_at", flat=True).get(pk=audit.pk) is not None:
        raise NotDone(_("This audit is closed: nothing of it can be changed any more. Draw a new one."))


def take_off(known: AuditAnswer, pen: Pen) -> None:
    known.undone_by, known.undone_at = pen.by, pen.at
    known.save(update_fields=["undone_by", "undone_at"])


def _found(state: ItemState, look: Look, pen: Pen) -> tuple[str, list[str]]:
    """What is said of the piece, and its faults. Raises Senseless."""
    if look.said:
        return look.said, [look.fault] if look.fault else []
    sensible.check("inspected", {"checklist": look.checklist, "answers": look.answers}, state.item.kind_id)
    failed = checklists.failed(look.checklist, look.answers, state.crew_id, pen.at)
    return FAULTY if failed else GOOD, sorted({fault for fault in failed.values() if fault})


def _same(known: AuditAnswer, look: Look, found: str, pen: Pen) -> bool:
    """Whether this is the answer that stands already, sent again."""
    if known.said != found:
        return False
    return known.by_id == pen.by.pk if look.checklist else found != FAULTY or look.fault in known.faults


def _already(known: AuditAnswer) -> str:
    said = _("%(tag)s is answered already: %(said)s, by %(who)s. Take that answer back first if it is wrong.")
    who = known.by.get_full_name() or known.by.get_username()
    return said % {"tag": known.piece.tag, "said": known.get_said_display(), "who": who}


def _drafts(pen: Pen, audit: Audit | None, state: ItemState, look: Look, found: str) -> list[Draft]:
    if found == ABSENT:
        return []
    _can_be_looked_at(state)
    beside: dict[str, Any] = {"item": state.item_id, "crew": state.crew_id, "note": look.note}
    beside["act"] = audit.act if audit else None
    if found == GOOD:
        _nothing_wrong(state)
    if look.checklist:
        return [pen.draft("inspected", detail=_details(look), **beside)]
    if found == FAULTY:
        sensible.check("fault_found", {"fault": look.fault}, state.item.kind_id)
        return [pen.draft("fault_found", detail={"fault": look.fault}, **beside)]
    return _good(pen, state, beside)


def _details(look: Look) -> dict[str, Any]:
    dates = {name: day.isoformat() for name, day in look.expiries.items()}
    return {"checklist": look.checklist, "answers": dict(look.answers)} | (
        {"expiries": dates} if dates else {}
    )


def _good(pen: Pen, state: ItemState, beside: Mapping[str, Any]) -> list[Draft]:
    kind = state.item.kind_id
    if short := short_checks(kind):
        details = [{"checklist": code, "answers": all_good(code)} for code in short]
        return [pen.draft("inspected", detail=detail, **beside) for detail in details]
    if recorded := recorded_checks(kind):
        said = _("%(tag)s is looked at point by point: fill in its checklist (%(checklist)s).")
        raise NotDone(said % {"tag": state.tag, "checklist": names.checklist(recorded[0])})
    return [pen.draft("seen", detail={"good": True}, **beside)]


def _can_be_looked_at(state: ItemState) -> None:
    if state.place == "gone":
        said = _("%(tag)s is written off. If nobody can look at it, answer that it is not there.")
        raise NotDone(said % {"tag": state.tag})
    if state.place == "missing":
        raise NotDone(refusal("missing", {"tag": state.tag}))


def _nothing_wrong(state: ItemState) -> None:
    """One that is found good has nothing open that is not mended: otherwise one of the two is not so."""
    told = projections.folded_item(state).state
    if wrong := [fault.fault for fault in told.faults if fault.mended_at is None]:
        faults = ", ".join(names.fault(fault) for fault in wrong)
        said = _("%(tag)s is not all good by the book: %(faults)s. Say which fault it has, or mend it first.")
        raise NotDone(said % {"tag": state.tag, "faults": faults})


def _write(pen: Pen, drafts: Sequence[Draft], state: ItemState) -> None:
    if not drafts:
        return
    refused = [code for each in pen.record(drafts).outcomes if not each.recorded for code in each.codes]
    if refused:
        params = {"tag": state.tag, "store": state.store_id}
        raise NotDone(" ".join(refusal(code, params) for code in dict.fromkeys(refused)))


def _blank(piece: AuditPiece, found: str, pen: Pen) -> AuditAnswer:
    return AuditAnswer(piece=piece, said=found, by=pen.by, at=pen.at)


def _put_down(given: AuditAnswer, faults: Sequence[str], drafts: Sequence[Draft]) -> None:
    """A new answer, or one more fault of a piece that is faulty already."""
    given.entries = [*given.entries, *(str(draft.id) for draft in drafts)]
    given.faults = list(dict.fromkeys([*given.faults, *faults]))
    given.save()
