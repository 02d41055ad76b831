"""Codes in addresses: where a phone's own camera lands, and what to say where a code finds nothing."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from crews import policy
from crews.models import Badge, BadgeLoan, Crew, User
from equipment.actions.wording import filled
from equipment.domain import codes
from equipment.models import GearSet, ItemState, Label
from equipment.models.reading import items, own_crews
from equipment.pages.links import link


class NothingThere(Exception):
    """The code in an address leads nowhere; the message says why. `elsewhere`: it exists, but not for this person."""

    def __init__(self, why: str, elsewhere: bool = False) -> None:
        self.elsewhere = elsewhere
        super().__init__(why)


@dataclass(frozen=True)
class Found:
    """An item, and the code it was asked by: its label, or an older one."""

    state: ItemState
    asked: str

    @property
    def replaced(self) -> bool:
        return self.asked != self.state.tag


def parsed(text: str) -> codes.Code:
    """Raises NothingThere."""
    try:
        return codes.parse(text)
    except codes.BadCode as error:
        raise NothingThere(filled(error.message, error.params)) from None


def item_of(user: User, text: str) -> Found:
    """The item with this label or one that it wore before. Raises NothingThere, also for what is not theirs to see."""
    code = parsed(text)
    rows = items(timezone.localdate(), user).select_related("item__kind", "picker", "crew", "store", "block")
    state = rows.filter(item__labels__code=code.text).first()
    if state is not None:
        return Found(state, code.text)
    if policy.only_own_crews(user) and Label.objects.filter(pk=code.text).exists():
        raise NothingThere(
            _("%(tag)s is not with one of your crews now.") % {"tag": code.text}, elsewhere=True
        )
    raise NothingThere(_("No item has the code %(tag)s.") % {"tag": code.text})


def tag(request: HttpRequest, tag: str) -> HttpResponse:
    """From any code of the farm to the page that it stands for."""
    try:
        return redirect(_address(request.user, parsed(tag)))
    except NothingThere as why:
        return nothing_there(request, why)


def _address(user: User, code: codes.Code) -> str:
    """Raises NothingThere."""
    if code.prefix == codes.BADGE:
        return _picker(user, code.text)
    if code.prefix == codes.CREW:
        return _crew(user, code.text)
    if code.prefix == codes.COUNTER:
        raise NothingThere(_("%(tag)s is a counter tag: scan it at a counter.") % {"tag": code.text})
    if code.prefix == codes.PRINTING:
        if address := link(user, "verify_one", code.text):
            return address
        raise NothingThere(_("%(tag)s is a printed register. The office can check it.") % {"tag": code.text})
    if code.prefix == codes.SET:
        if not GearSet.objects.filter(pk=code.text).exists():
            raise NothingThere(_("No set has the code %(tag)s.") % {"tag": code.text})
        return link(user, "set", code.text) or link(user, "gear", query=f"q={code.text}")
    return link(user, "item", item_of(user, code.text).state.tag)


def _picker(user: User, badge: str) -> str:
    if not Badge.objects.filter(pk=badge).exists():
        raise NothingThere(_("No badge has the code %(tag)s.") % {"tag": badge})
    loan = BadgeLoan.objects.on(timezone.localdate()).filter(badge=badge).first()
    if loan is None:
        raise NothingThere(_("Nobody holds the badge %(tag)s today.") % {"tag": badge})
    return link(user, "picker", loan.picker_id) or link(user, "gear", query=f"q={badge}")


def _crew(user: User, code: str) -> str:
    rows = own_crews(user) if policy.only_own_crews(user) else Crew.objects.all()
    if not rows.filter(pk=code).exists():
        raise NothingThere(_("No crew of yours has the code %(tag)s.") % {"tag": code})
    return link(user, "crew", code) or link(user, "gear", query=f"q={code}")


def nothing_there(request: HttpRequest, why: NothingThere) -> HttpResponse:
    """A page that says why, and what to do next."""
    context = {
        "why": str(why),
        "elsewhere": why.elsewhere,
        "registering": link(request.user, "registering"),
        "may_retag": policy.may_act(request.user, "retag"),
    }
    return render(request, "nothing_there.html", context, status=404)
