"""Pickers go to another crew, or leave the farm; before they leave, the page says what they still hold."""

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from crews.models import Crew, Picker
from equipment.actions import change_crew
from equipment.actions.writing import Pen
from equipment.models.picker_life import held_by
from equipment.models.reading import pickers
from equipment.pages.crews.beside import sheet
from equipment.pages.links import link


class ToForm(forms.Form):
    """Where to; the crew that they are in already is left out."""

    to = forms.ModelChoiceField(
        label=gettext_lazy("To the crew"),
        queryset=Crew.objects.filter(active=True),
        empty_label=None,
    )

    def __init__(self, data: Any = None, but: Crew | None = None) -> None:
        super().__init__(data)
        if but is not None:
            self.fields["to"].queryset = Crew.objects.filter(active=True).exclude(pk=but.pk)  # type: ignore[attr-defined]


def move(request: HttpRequest) -> HttpResponse:
    """`picker` (many), and `do`: "move" with `to`, or "leave", which asks first and is done with "leave-now"."""
    people = _people(request)
    do, form = request.POST.get("do"), ToForm(request.POST)
    if not people:
        messages.warning(request, _("Nobody was chosen. Tick the pickers first."))
        return redirect(_back(request))
    if do == "leave":
        return _ask(request, people)
    if do == "leave-now":
        return _leave(request, people)
    if not form.is_valid() or not form.cleaned_data["to"]:
        messages.warning(request, _("No crew was chosen. Choose where they go."))
        return redirect(_back(request))
    return _move(request, people, form.cleaned_data["to"])


def _people(request: HttpRequest) -> list[Picker]:
    chosen = [
        int(pk) for pk in request.POST.getlist("picker") if pk.isascii() and pk.isdigit() and len(pk) < 18
    ]
    return list(pickers(timezone.localdate(), request.user).filter(pk__in=chosen[:1000]))


def _back(request: HttpRequest) -> str:
    """The crew's page that the form stood on, or the list of pickers."""
    crew = Crew.objects.filter(pk=request.POST.get("from", "")[:20]).first()
    return link(request.user, "crew", crew.pk) if crew else link(request.user, "pickers")


def _move(request: HttpRequest, people: list[Picker], crew: Crew) -> HttpResponse:
    change_crew.move(Pen(request.user, crew.store_id, timezone.now()), {person.pk: crew for person in people})
    said = ngettext("%(name)s is in %(crew)s now.", "%(count)d pickers are in %(crew)s now.", len(people))
    messages.success(request, said % {"name": people[0].name, "crew": crew.name, "count": len(people)})
    return redirect("crew", crew.pk)


def _ask(request: HttpRequest, people: list[Picker]) -> HttpResponse:
    held = held_by(people)
    rows = [
        {"picker": one, "held": held.get(one.pk, []), "slip": link(request.user, "clearance", one.pk)}
        for one in people
    ]
    context = {"rows": rows, "holding": sum(bool(row["held"]) for row in rows), "back": _back(request)}
    return sheet(request, "leaving.html", {**context, "from": request.POST.get("from", "")})


def _leave(request: HttpRequest, people: list[Picker]) -> HttpResponse:
    change_crew.move(Pen(request.user, "", timezone.now()), {person.pk: None for person in people})
    said = ngettext("%(name)s has left.", "%(count)d pickers have left.", len(people))
    messages.success(request, said % {"name": people[0].name, "count": len(people)})
    held = held_by(people)
    for person in people:
        if person.pk in held:
            tags = ", ".join(state.tag for state in held[person.pk])
            messages.warning(
                request, _("%(name)s still holds %(tags)s.") % {"name": person.name, "tags": tags}
            )
    return redirect("picker", people[0].pk) if len(people) == 1 else redirect(_back(request))
