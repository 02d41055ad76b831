"""When the power fails: the crew pages of tomorrow, and entering them afterwards."""

from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID

from django import forms
from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from crews.models import Crew, DayPlan, Picker
from equipment.actions.enter_paper import Page, PaperLine, Unreadable, enter
from equipment.actions.writing import new_id
from equipment.documents.crew_page import CrewSheet, PickerLine, SharedLine, crew_pages
from equipment.domain.refusals import REFUSALS
from equipment.models import Kind
from equipment.models.kits import asked, plans_by_crew, usual_by_kind
from equipment.models.reading import crews, pickers
from equipment.pages.printing import pdf

BLANK_LINES = 4
SHARED_LINES = 3


class DayForm(forms.Form):
    date = forms.DateField(label=gettext_lazy("Day"), widget=forms.DateInput(attrs={"type": "date"}))


def paper(request: HttpRequest) -> HttpResponse:
    tomorrow = timezone.localdate() + timedelta(days=1)
    context = {
        "form": DayForm(initial={"date": tomorrow}),
        "planned": len(plans_by_crew(tomorrow)),
        "crews": crews(request.user).filter(active=True),
    }
    return render(request, "paper.html", context)


def crew_pages_pdf(request: HttpRequest) -> HttpResponse:
    """One page for each crew (or one of them, `crew`), of the day asked for or of tomorrow."""
    form = DayForm(
        request.GET if "date" in request.GET else {"date": timezone.localdate() + timedelta(days=1)}
    )
    rows = crews(request.user).filter(active=True).select_related("supervisor")
    if crew := request.GET.get("crew"):
        rows = rows.filter(pk=crew)
    if not form.is_valid() or not rows:
        messages.error(request, _("There is no such crew or day to print. Choose again."))
        return redirect("paper")
    day = form.cleaned_data["date"]
    return pdf(
        crew_pages(crew_sheets(list(rows), day, request), settings.FARM_NAME), f"crews-{day.isoformat()}"
    )


def crew_sheets(rows: list[Crew], day: date, request: HttpRequest) -> list[CrewSheet]:
    """The sheets of these crews, in a handful of queries."""
    plans = plans_by_crew(day, [crew.pk for crew in rows])
    people = list(pickers(timezone.localdate(), request.user).filter(crew__in=[crew.pk for crew in rows]))
    usual = usual_by_kind(people, timezone.now())
    kinds = Kind.objects.in_bulk()
    in_crew = {crew.pk: [person for person in people if person.crew == crew.pk] for crew in rows}
    return [_sheet(crew, day, plans.get(crew.pk, []), in_crew[crew.pk], usual, kinds) for crew in rows]


def _sheet(
    crew: Crew,
    day: date,
    plans: list[DayPlan],
    people: list[Picker],
    usual: dict[int, Any],
    kinds: dict[str, Kind],
) -> CrewSheet:
    wanted = [line.kind for line in asked(plans, present=len(people))]
    shared = asked(plans, len(people), "crew") if plans else ()
    return CrewSheet(
        code=crew.pk,
        crew=crew.name,
        supervisor=crew.leader,
        block=", ".join(plan.block_id for plan in plans) or _("no plan"),
        day=day,
        part_of_day=", ".join(str(plan.get_part_display()) for plan in plans),
        kinds=tuple(str(kinds[kind]) for kind in wanted),
        pickers=tuple(
            PickerLine(
                person.name,
                person.badge or "",
                {str(state.item.kind): state.tag for state in usual.get(person.pk, {}).values()},
            )
            for person in people
        ),
        shared=tuple(SharedLine(str(kinds[line.kind])) for line in shared for _piece in range(line.quantity)),
        ladders=any(line.kind == "ladder" for line in shared),
    )


class PageForm(forms.Form):
    """The head of a page that is entered; the lines are read from the request by their names."""

    crew = forms.ModelChoiceField(label=gettext_lazy("Crew"), queryset=Crew.objects.none(), empty_label=None)
    direction = forms.ChoiceField(
        label=gettext_lazy("This page is of"),
        choices=[("handed_out", gettext_lazy("handing out")), ("returned", gettext_lazy("taking back"))],
    )
    date = forms.DateField(label=gettext_lazy("Day"), widget=forms.DateInput(attrs={"type": "date"}))
    time = forms.TimeField(
        label=gettext_lazy("Time"), initial=time(5, 30), widget=forms.TimeInput(attrs={"type": "time"})
    )
    act = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, request: HttpRequest, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["crew"].queryset = crews(request.user).filter(active=True)  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if data.get("date") and data.get("time"):
            data["at"] = timezone.make_aware(datetime.combine(data["date"], data["time"]))
            if data["at"] > timezone.now():
                raise forms.ValidationError(
                    _("That lies in the future. A page is entered after it was ticked.")
                )
        return data


def enter_paper(request: HttpRequest) -> HttpResponse:
    """Choose crew and day (GET), then type the codes beside each name (POST)."""
    crew = crews(request.user).filter(pk=request.GET.get("crew", "")).first()
    if crew is None:
        return render(request, "enter_paper_choose.html", {"crews": crews(request.user).filter(active=True)})
    people = list(pickers(timezone.localdate(), request.user).filter(crew=crew.pk))
    initial = {"crew": crew.pk, "date": timezone.localdate(), "act": new_id(), "direction": "handed_out"}
    form = PageForm(request.POST or None, request=request, initial=initial)
    if request.method == "POST" and form.is_valid():
        try:
            entered = enter(request.user, _page(form, request, people), timezone.now())
        except Unreadable as error:
            for why in error.codes.values():
                form.add_error(None, why)
            form.add_error(None, _("Nothing was recorded. Put these right and enter the page again."))
        else:
            return _entered(request, entered, form.cleaned_data["act"])
    return render(
        request, "enter_paper.html", _lines(request, form, crew, people), status=400 if form.errors else 200
    )


def _page(form: PageForm, request: HttpRequest, people: list[Picker]) -> Page:
    data = form.cleaned_data
    lines = [PaperLine(person, _tags(request, f"picker-{person.pk}")) for person in people]
    lines.append(PaperLine(None, _tags(request, "shared")))
    by_badge = {person.badge: person for person in pickers(data["date"], request.user) if person.badge}
    for place in range(BLANK_LINES):
        badge = request.POST.get(f"badge-{place}", "").strip().upper()
        tags = _tags(request, f"blank-{place}")
        if tags and badge not in by_badge:
            raise Unreadable({badge: _("“%(badge)s” is no card in use on that day.") % {"badge": badge[:20]}})
        if tags:
            lines.append(PaperLine(by_badge[badge], tags))
    return Page(data["crew"], data["direction"], data["at"], data["act"], lines)


def _tags(request: HttpRequest, name: str) -> tuple[str, ...]:
    return tuple(request.POST.get(name, "").split()[:50])


def _lines(request: HttpRequest, form: PageForm, crew: Crew, people: list[Picker]) -> dict[str, Any]:
    """The form with what was typed so far: an error loses nothing."""
    usual = usual_by_kind(people, timezone.now())
    return {
        "form": form,
        "crew": crew,
        "people": [
            {
                "picker": person,
                "name": f"picker-{person.pk}",
                "typed": request.POST.get(f"picker-{person.pk}", ""),
                "usual": " ".join(state.tag for state in usual.get(person.pk, {}).values()),
            }
            for person in people
        ],
        "shared": request.POST.get("shared", ""),
        "blanks": [
            {
                "badge": f"badge-{place}",
                "name": f"blank-{place}",
                "typed_badge": request.POST.get(f"badge-{place}", ""),
                "typed": request.POST.get(f"blank-{place}", ""),
            }
            for place in range(BLANK_LINES)
        ],
    }


def _entered(request: HttpRequest, entered: Any, act: UUID) -> HttpResponse:
    if entered.before:
        messages.warning(request, _("This page is in the book already; nothing was recorded twice."))
    else:
        said = ngettext(
            "%(count)d entry recorded from paper.", "%(count)d entries recorded from paper.", entered.count
        )
        messages.success(request, said % {"count": entered.count})
    for tag, found in entered.discrepancies:
        words = _(REFUSALS[found.code]) % {"tag": tag, "who": "…", "store": "…", "crew": "…"}
        messages.warning(request, _("To settle: %(words)s") % {"words": words})
    return redirect(reverse("enter_paper"))
