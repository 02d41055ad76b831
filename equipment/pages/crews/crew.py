"""The page of one crew: its pickers and what they hold, its plans, and who is new in it."""

from datetime import timedelta
from typing import Any

from django import forms
from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews import policy
from crews.models import Crew, DayPlan, FormerLead
from equipment.actions import lend_badge
from equipment.actions.importing.cells import plain_text
from equipment.actions.new_picker import new_picker
from equipment.actions.writing import Pen
from equipment.models import Membership
from equipment.models.picker_life import held_by
from equipment.models.reading import crews, pickers
from equipment.models.replanning import standing
from equipment.pages.crews.beside import sheet
from equipment.pages.crews.crew_list import CrewForm
from equipment.pages.crews.fields import NAME, who
from equipment.pages.crews.moving import ToForm

DAYS_AHEAD = 7
NEW = "new_%s"


class EditForm(CrewForm):
    active = forms.BooleanField(label=gettext_lazy("This crew works this season"), required=False)

    class Meta(CrewForm.Meta):
        fields = ("name", "store", "supervisor", "active")

    def clean_active(self) -> bool:
        active: bool = self.cleaned_data["active"]
        if not active and Membership.objects.filter(crew=self.instance).current().exists():
            raise forms.ValidationError(_("There are pickers in this crew. Move them to another crew first."))
        return active


class NewPickerForm(forms.Form):
    name = forms.CharField(label=gettext_lazy("Name"), max_length=120, widget=forms.TextInput(attrs=NAME))
    card = forms.BooleanField(
        label=gettext_lazy("Lend a new card, to be printed"), required=False, initial=True
    )

    def clean_name(self) -> str:
        try:
            return str(plain_text(self.cleaned_data["name"]))
        except ValueError as error:
            raise forms.ValidationError(str(error)) from None


def crew(request: HttpRequest, code: str) -> HttpResponse:
    """Shows the crew; a POST changes its name, store or supervisor."""
    one = _own_crew(request, code)
    form = (
        EditForm(request.POST or None, instance=one)
        if policy.may_open(request.user, "crew", "POST")
        else None
    )
    if request.method == "POST" and form and form.is_valid():
        with transaction.atomic():
            FormerLead.note([form.instance], timezone.now())
            form.save()
        messages.success(request, _("Written down."))
        return redirect("crew", one.pk)
    return _page(request, one if request.method == "GET" else _own_crew(request, code), edit=form)


def add_picker(request: HttpRequest, code: str) -> HttpResponse:
    one = _own_crew(request, code)
    form = NewPickerForm(request.POST, auto_id=NEW)
    if not form.is_valid():
        return _page(request, one, add=form)
    now = timezone.now()
    picker = new_picker(Pen(request.user, one.store_id, now), form.cleaned_data["name"], one)
    said = _("%(name)s is in %(crew)s, with the number %(number)s.")
    if form.cleaned_data["card"]:
        (badge,) = lend_badge.lend_new([picker], timezone.localdate(now))
        said += " " + _("The card is %(badge)s; print it.") % {"badge": badge.pk}
    messages.success(request, said % {"name": picker.name, "crew": one.name, "number": picker.number})
    return redirect("crew", one.pk)


def _own_crew(request: HttpRequest, code: str) -> Crew:
    """The crew, if this person may see it. Raises Http404."""
    found = crews(request.user).filter(pk=code.upper()).select_related("store", "supervisor").first()
    if found is None:
        raise Http404
    return found


def _page(request: HttpRequest, one: Crew, **forms_in_use: forms.BaseForm | None) -> HttpResponse:
    day = timezone.localdate()
    people = list(pickers(day, request.user).filter(crew=one.pk))
    held = held_by(people)
    context: dict[str, Any] = {
        "crew": one,
        "leader": who(one.supervisor),
        "people": [{"picker": person, "held": held.get(person.pk, [])} for person in people],
        "without_card": sum(person.badge is None for person in people),
        "plans": _plans(one, day),
        "today": day,
        "edit": forms_in_use.get("edit"),
    }
    if policy.may_open(request.user, "picker_move", "POST"):
        context["to"] = ToForm(but=one)
        context["add"] = forms_in_use.get("add") or NewPickerForm(auto_id=NEW)
    return sheet(request, "crew.html", context)


def _plans(one: Crew, day: Any) -> list[DayPlan]:
    days = (day, day + timedelta(days=DAYS_AHEAD))
    return standing(one.plans.filter(date__range=days).select_related("block"), days, [one.pk])
