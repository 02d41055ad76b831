"""The page of one picker: who they are, their cards, their crew, their gear."""

from datetime import date
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews import policy
from crews.models import Badge, BadgeLoan, Crew, Picker
from equipment.actions import lend_badge
from equipment.models import Entry
from equipment.models.kits import usual_items
from equipment.models.picker_life import held_by, lately
from equipment.models.reading import pickers
from equipment.pages.crews.beside import sheet
from equipment.pages.crews.fields import Plain, who
from equipment.pages.crews.moving import ToForm
from equipment.pages.links import link, register
from equipment.pages.telling import ICONS, Teller


class PickerForm(Plain):
    names = ("name",)

    class Meta:
        model = Picker
        fields = ("name", "number", "hand", "glove_size", "boot_size", "overall_size")


class CardForm(forms.Form):
    """A new card; why, where there is an old one to die."""

    why = forms.CharField(
        label=gettext_lazy("Why"),
        max_length=120,
        help_text=gettext_lazy(
            "Such as lost, broken, left at home. The old card is dead at once and stays so."
        ),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )


def picker(request: HttpRequest, pk: int) -> HttpResponse:
    """Shows the picker; a POST changes their details."""
    one = _own_picker(request, pk)
    may = policy.may_open(request.user, "picker", "POST") and bool(one.name)
    form = PickerForm(request.POST or None, instance=Picker.objects.get(pk=pk)) if may else None
    if request.method == "POST" and form and form.is_valid():
        form.save()
        messages.success(request, _("Written down."))
        return redirect("picker", pk)
    return _page(request, one, edit=form)


def card(request: HttpRequest, pk: int) -> HttpResponse:
    """A new card for the picker; the card they had dies, and why is written down."""
    one = _own_picker(request, pk)
    day = timezone.localdate()
    form = CardForm(request.POST)
    if not _has_card(one, day):
        badge = lend_badge.lend_new([one], day)[0]
    elif form.is_valid():
        badge = lend_badge.reissue(one, day, form.cleaned_data["why"])
    else:
        return _page(request, one, card=form)
    messages.success(
        request, _("%(badge)s is the card of %(name)s now. Print it.") % {"badge": badge, "name": one.name}
    )
    return redirect("picker", pk)


def _own_picker(request: HttpRequest, pk: int) -> Picker:
    """The picker with `badge` and `crew`, if this person may see them. Raises Http404."""
    found = pickers(timezone.localdate(), request.user).filter(pk=pk).first()
    if found is None:
        raise Http404
    return found


def _has_card(one: Picker, day: date) -> bool:
    """Whether a card of their own is lent to them; a day card is not."""
    return BadgeLoan.objects.on(day).filter(picker=one, badge__day_card=False).exists()


def _page(request: HttpRequest, one: Picker, **in_use: forms.BaseForm | None) -> HttpResponse:
    now, day = timezone.now(), timezone.localdate()
    held = held_by([one]).get(one.pk, [])
    crew = Crew.objects.filter(pk=one.crew).first()  # type: ignore[attr-defined]
    context: dict[str, Any] = {
        "picker": one,
        "crew": crew,
        "held": held,
        "usual": [state for state in usual_items(one, now) if state not in held],
        "loans": [_loan(loan, day) for loan in one.loans.select_related("badge")],
        "has_card": _has_card(one, day),
        "lines": _lines(lately(one)),
        "slip": link(request.user, "clearance", one.pk),
        "gear_card": register(request.user, "gear-card", urlencode({"picker": one.number})),
        "cards": link(request.user, "cards"),
        "edit": in_use.get("edit"),
    }
    if one.name and policy.may_open(request.user, "picker_card", "POST"):
        context |= {"card": in_use.get("card") or CardForm(), "to": ToForm(but=crew)}
    return sheet(request, "picker.html", context)


def _loan(loan: BadgeLoan, day: date) -> dict[str, Any]:
    badge: Badge = loan.badge
    dead = badge.died_on is not None and badge.died_on <= day
    now = not dead and loan.from_day <= day and (loan.to_day is None or day <= loan.to_day)
    return {"loan": loan, "badge": badge, "dead": dead, "now": now}


def _lines(entries: list[Entry]) -> list[dict[str, Any]]:
    teller = Teller(entries)
    return [
        {
            "at": entry.happened_at,
            "say": teller.tell(entry),
            "icon": ICONS.get(entry.verb, "note"),
            "tag": entry.item.state.tag if entry.item else "",
            "by": who(entry.by),
        }
        for entry in entries
    ]
