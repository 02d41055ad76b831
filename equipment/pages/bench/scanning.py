"""What one scan at the bench does: opens a piece, says that it is all good, or says what is wrong with the open one."""

from dataclasses import dataclass
from datetime import datetime

from django.contrib import messages
from django.http import HttpRequest
from django.utils.translation import gettext as _

from crews.models import User
from equipment.actions import names
from equipment.actions.faults_of import faults_of
from equipment.actions.inspect_item import all_good, inspect_item
from equipment.actions.report_fault import report_fault
from equipment.actions.wording import refusal
from equipment.domain import codes, faults
from equipment.domain.counter_tags import COUNTER_TAGS
from equipment.domain.fault_tags import FAULT_TAGS
from equipment.pages.acts import may, pen
from equipment.pages.bench.form import GOOD, OPEN
from equipment.pages.care_acts import to_look_over
from equipment.pages.item_acts import ACTS
from equipment.pages.landing import NothingThere, item_of, parsed
from equipment.pages.piece import Asked, Piece, piece

FAULTS = {number: fault for fault, number in FAULT_TAGS.items()}


@dataclass(frozen=True)
class After:
    """What lies open after the scan ("" for nothing), what the next scan does, and the fault whose form stands open."""

    piece: str
    scan: str
    fault: str = ""


@dataclass(frozen=True)
class Scan:
    request: HttpRequest
    code: str
    scan: str
    piece: str
    at: datetime

    @property
    def user(self) -> User:
        return self.request.user  # type: ignore[return-value]


def take(scan: Scan) -> After:
    """Does what the code says; what came of it stands in the messages."""
    try:
        code = parsed(scan.code)
        if code.prefix == codes.COUNTER:
            return _tag(scan, code.number)
        found = piece(item_of(scan.user, code.text).state, scan.at)
        return _all_good(scan, found) if scan.scan == GOOD else After(found.row.tag, OPEN)
    except NothingThere as why:
        messages.error(scan.request, str(why))
        return After(scan.piece, scan.scan)


def _tag(scan: Scan, number: int) -> After:
    """A counter tag or the tag of a fault. Raises NothingThere."""
    tag = COUNTER_TAGS.get(number)
    if tag is not None and tag.name == "all_good":
        if scan.piece:
            return _all_good(scan, _open(scan))
        return After("", OPEN if scan.scan == GOOD else GOOD)
    if number not in FAULTS:
        raise NothingThere(_("This tag is for a counter: it does nothing at the bench."))
    if not scan.piece:
        raise NothingThere(_("Scan the piece first, then what is wrong with it."))
    return _fault(scan, _open(scan), FAULTS[number])


def _open(scan: Scan) -> Piece:
    """The piece that lies open. Raises NothingThere."""
    return piece(item_of(scan.user, scan.piece).state, scan.at)


def _all_good(scan: Scan, found: Piece) -> After:
    """Every short check that is due is answered at once. A piece that is not all good is opened."""
    tag = found.row.tag
    due = {each.checklist for each in found.found.inspections if each.at is not None and each.at <= found.at}
    asked = [code for code in to_look_over(found) if code in due]
    if found.open_faults and not asked:
        words = ", ".join(names.fault(fault.fault) for fault in found.open_faults)
        messages.error(
            scan.request, _("%(tag)s is not all good: %(faults)s.") % {"tag": tag, "faults": words}
        )
        return After(tag, scan.scan)
    if not asked:
        messages.info(scan.request, _("%(tag)s: there is nothing to look over on it now.") % {"tag": tag})
        return After("" if scan.scan == GOOD else tag, scan.scan)
    if not may(ACTS["inspect"], Asked("inspect", scan.user, found)):
        raise NothingThere(refusal("no_right", {}))
    for code in asked:
        inspect_item(pen(scan.user, found.row), found.row, code, all_good(code))
    messages.success(scan.request, _("%(tag)s: looked over, all good.") % {"tag": tag})
    return After("", scan.scan)


def _fault(scan: Scan, found: Piece, fault: str) -> After:
    """Of a fault that is open already, its form; any other one is written down."""
    tag = found.row.tag
    if faults.named(found.told, fault):
        return After(tag, scan.scan, fault)
    if fault not in {each.code for each in faults_of(found.kind)}:
        words = _("“%(fault)s” is no fault of this kind of gear.") % {"fault": names.fault(fault)}
        raise NothingThere(words)
    if not may(ACTS["report_fault"], Asked("report_fault", scan.user, found)):
        raise NothingThere(refusal("no_right", {}))
    outcome = report_fault(pen(scan.user, found.row), found.row, fault)
    if not outcome.recorded:
        raise NothingThere(" ".join(refusal(code, {"tag": tag}) for code in outcome.codes))
    words = _("%(tag)s: %(fault)s is written down.") % {"tag": tag, "fault": names.fault(fault)}
    messages.success(scan.request, words)
    return After(tag, scan.scan, fault)
