"""What is done to keep an item fit: a fault reported, mended, passed; a checklist answered; a cleaning by hand."""

from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.translation import gettext_lazy as _

from crews.models import User
from equipment.actions.clean import Way, clean
from equipment.actions.inspect_item import all_good, inspect_item
from equipment.actions.keep_photo import keep_photo
from equipment.actions.mend import Mend, may_pass, mend, release
from equipment.actions.report_fault import report_fault
from equipment.domain import faults
from equipment.ledger import Outcome
from equipment.models import ItemState, checklists
from equipment.pages import care_forms as forms
from equipment.pages.acts import EVERYWHERE, HERE, OUT, ItemAct, pen
from equipment.pages.piece import Asked, Piece

Said = Mapping[str, Any]


def _report(user: User, state: ItemState, said: Said) -> Outcome:
    """Raises PhotoRefused. The picture is kept first: an entry may name one that comes to nothing, not the reverse."""
    writing = pen(user, state)
    photo = keep_photo(said["photo"], user, writing.at)[0].pk if said["photo"] else None
    return report_fault(writing, state, said["fault"], photo, said["note"])


def _mend(user: User, state: ItemState, said: Said) -> Outcome:
    how = Mend(said["fault"], said["method"], said["minutes"], said["parts"], said["where"])
    return mend(pen(user, state), state, how, said["note"], said.get("using"))


def _pass(user: User, state: ItemState, said: Said) -> Outcome:
    return release(pen(user, state), state, said["fault"], said["note"])


def _inspect(user: User, state: ItemState, said: Said) -> Outcome:
    return inspect_item(
        pen(user, state), state, said["checklist"], said["answers"], said["expiries"], said["note"]
    )


def _all_good(user: User, state: ItemState, said: Said) -> Outcome:
    checklist = said["checklist"]
    return inspect_item(pen(user, state), state, checklist, all_good(checklist))


def _clean(user: User, state: ItemState, said: Said) -> Outcome:
    way = Way(said["method"], recipe=said["recipe"] or None, seconds=said["seconds"])
    return clean(pen(user, state), [state], way, said["note"])[0]


def to_mend(piece: Piece) -> Sequence[str]:
    return [fault.fault for fault in piece.open_faults if fault.mended_at is None]


def to_pass(piece: Piece) -> Sequence[str]:
    return [fault.fault for fault in piece.open_faults if fault.mended_at is not None]


def to_inspect(piece: Piece) -> Sequence[str]:
    """The checklists of its kind, due or not."""
    known = [due.checklist for due in piece.found.inspections if due.checklist in checklists.by_code()]
    return list(dict.fromkeys(known))


def to_look_over(piece: Piece) -> Sequence[str]:
    """The short checklists that one "all good" answers: of yes and no only, and not for the record. None where a fault
    is open: it is not all good."""
    if any(fault.mended_at is None for fault in piece.open_faults):
        return []
    by_code = checklists.by_code()
    return [
        code
        for code in to_inspect(piece)
        if not by_code[code].recorded and all(point.answer == "yes_no" for point in by_code[code].point)
    ]


def _may_pass(asked: Asked) -> bool:
    fault = faults.named(asked.piece.told, asked.about)
    return fault is not None and may_pass(asked.user, fault)


USED = OUT | HERE
CARE = (
    ItemAct("report_fault", "fault_found", _("Report a fault"), forms.FaultForm, _report, EVERYWHERE),
    ItemAct("mend", "mended", _("Mended"), forms.MendForm, _mend, USED, key="fault", about=to_mend),
    ItemAct(
        "pass",
        "released",
        _("Pass it"),
        forms.PassForm,
        _pass,
        USED,
        key="fault",
        about=to_pass,
        allows=_may_pass,
    ),
    ItemAct(
        "inspect",
        "inspected",
        _("Inspect"),
        forms.InspectForm,
        _inspect,
        USED,
        key="checklist",
        about=to_inspect,
    ),
    ItemAct(
        "all_good",
        "inspected",
        _("All good"),
        forms.AllGoodForm,
        _all_good,
        USED,
        key="checklist",
        about=to_look_over,
    ),
    ItemAct("clean", "cleaned", _("Clean by hand"), forms.CleanForm, _clean, USED),
)
