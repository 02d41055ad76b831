"""What one scan at an audit does: opens a piece, says that it is good, or what is wrong with the open one."""

from dataclasses import dataclass

from django.contrib import messages
from django.http import HttpRequest
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from crews.models import User
from equipment.actions import names
from equipment.actions.audit.answering import Answered, Look, answer
from equipment.actions.audit.closing import take_back
from equipment.actions.audit.reading import last_answer, standing
from equipment.actions.sensible import Senseless
from equipment.actions.wording import NotDone
from equipment.domain import codes
from equipment.domain.counter_tags import COUNTER_TAGS
from equipment.models import Audit, AuditAnswer, AuditPiece, ItemState
from equipment.models.audits import FAULTY
from equipment.models.audits import GOOD as IS_GOOD
from equipment.pages.acts import pen
from equipment.pages.bench.form import GOOD, OPEN
from equipment.pages.bench.scanning import FAULTS, After
from equipment.pages.landing import NothingThere, item_of, parsed


@dataclass(frozen=True)
class Scan:
    """`scan` says what a scan does, `piece` is the tag of the one that lies open."""

    request: HttpRequest
    audit: Audit
    code: str
    scan: str
    piece: str

    @property
    def user(self) -> User:
        return self.request.user  # type: ignore[return-value]

    @property
    def still(self) -> After:
        """Nothing is done: what lies open stays open."""
        return After(self.piece, self.scan)


def take(scan: Scan) -> After:
    """Does what the code says; what came of it stands in the messages."""
    try:
        code = parsed(scan.code)
        if code.prefix == codes.COUNTER:
            return _tag(scan, code.number)
        state = item_of(scan.user, code.text).state
    except NothingThere as why:
        messages.error(scan.request, str(why))
        return scan.still
    if scan.scan != GOOD:
        return After(state.tag, OPEN)
    if not AuditPiece.objects.filter(audit=scan.audit, item=state.item_id).exists():
        messages.warning(scan.request, not_drawn(state.tag))
        return After(state.tag, scan.scan)
    return give(scan, state, Look(IS_GOOD))


def not_drawn(tag: str) -> str:
    return _("%(tag)s is not in the sample: whatever it is like, it does not count here.") % {"tag": tag}


def give(scan: Scan, state: ItemState, look: Look) -> After:
    """Write down what was found of a piece. What cannot be leaves it open, with the why."""
    try:
        given = answer(pen(scan.user, state), scan.audit, state, look)
    except (NotDone, Senseless) as why:
        messages.error(scan.request, str(why))
        return After(state.tag, scan.scan)
    messages.success(scan.request, _said(scan.audit, state.tag, look, given))
    return After("", scan.scan)


def undo_last(scan: Scan, number: int | None = None) -> After:
    """Take back the answer of that number, or what this person answered last."""
    last = last_answer(scan.audit, scan.user)
    number = number or (last.pk if last else None)
    if number is None:
        messages.info(scan.request, _("You have answered nothing here that could be taken back."))
        return scan.still
    try:
        known = take_back(pen(scan.user, _state_of(number)), scan.audit, number)
    except NotDone as why:
        messages.error(scan.request, str(why))
        return scan.still
    said = _("The answer for %(tag)s is taken back, in the book too. Look at it again.")
    messages.success(scan.request, said % {"tag": known.piece.tag})
    return After("", scan.scan)


def _tag(scan: Scan, number: int) -> After:
    """A counter tag or the tag of a fault. Raises NothingThere."""
    tag = COUNTER_TAGS.get(number)
    if tag is not None and tag.name == "undo":
        return undo_last(scan)
    if tag is not None and tag.name == "all_good":
        if scan.piece:
            return give(scan, item_of(scan.user, scan.piece).state, Look(IS_GOOD))
        return After("", OPEN if scan.scan == GOOD else GOOD)
    if number not in FAULTS:
        raise NothingThere(_("This tag is for a counter: it does nothing at an audit."))
    if not scan.piece:
        raise NothingThere(_("Scan the piece first, then what is wrong with it."))
    return give(scan, item_of(scan.user, scan.piece).state, Look(FAULTY, FAULTS[number]))


def _state_of(number: int) -> ItemState:
    found = AuditAnswer.objects.select_related("piece__item__state").filter(pk=number).first()
    return found.piece.item.state if found else ItemState()


def _said(audit: Audit, tag: str, look: Look, given: Answered) -> str:
    fault = names.fault(look.fault)
    words = f"{AuditAnswer.Said(given.said).label} ({fault})" if fault else AuditAnswer.Said(given.said).label
    params = {"tag": tag, "said": words}
    if given.already:
        return _("%(tag)s is answered so already: %(said)s. Nothing is written twice.") % params
    if not given.counted:
        return _("%(tag)s: %(said)s. It is in the book, and does not count here.") % params
    left = standing(audit).left
    some = ngettext("%(n)d is left.", "%(n)d are left.", left) % {"n": left}
    rest = some if left else _("All of them are answered: the finding stands below.")
    return f"{_('%(tag)s: %(said)s.') % params} {rest}"
