"""The evening plan: of all stores or one, of one crew, and the morning sheets on paper."""

from datetime import date, timedelta

from django import forms
from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_GET

from equipment.actions.follow_rules import catch_up
from equipment.documents.morning_sheet import morning_sheets
from equipment.models.planning import DAYS_AHEAD, evening, next_day
from equipment.models.reading import crews
from equipment.pages.links import link
from equipment.pages.plan import showing
from equipment.pages.plan.sheets import sheet
from equipment.pages.printing import pdf

LINKED = ("bench", "wash", "wash_mix", "sets", "morning_sheets_pdf")


class DayForm(forms.Form):
    day = forms.DateField(label=gettext_lazy("Day"), widget=forms.DateInput(attrs={"type": "date"}))


@require_GET
def evening_plan(request: HttpRequest) -> HttpResponse:
    """Of the day asked for, else of the next one with plans."""
    now, form, day = timezone.now(), *_asked(request)
    if form.errors:
        return render(request, "evening_plan.html", {"form": form, "told": None}, status=400)
    catch_up(now)
    found = evening(day, now)
    today = timezone.localdate(now)
    context = {
        "form": form,
        "day": day,
        "told": showing.told(found),
        "over": found.over,
        "begun": found.ready_at == now,
        "at": now,
        "far": (day - today).days if (day - today).days > DAYS_AHEAD else 0,
        "crews": showing.crews(found),
        "may_plan": link(request.user, "plan_new", query=f"date={day.isoformat()}"),  # type: ignore[arg-type]
        "own": _own(request),
        "links": {name: link(request.user, name) for name in LINKED},  # type: ignore[arg-type]
    }
    return render(request, "evening_plan.html", context)


@require_GET
def evening_plan_crew(request: HttpRequest, code: str) -> HttpResponse:
    now, form, day = timezone.now(), *_asked(request)
    if form.errors or not crews(request.user).filter(pk=code).exists():  # type: ignore[arg-type]
        raise Http404
    found = evening(day, now)
    need = found.need_of(code)
    context = {
        "crew": crews(request.user).get(pk=code),  # type: ignore[arg-type]
        "day": day,
        "need": need,
        "sets_link": link(request.user, "sets"),  # type: ignore[arg-type]
        **(showing.crew(need, found) if need else {}),
    }
    return render(request, "evening_plan_crew.html", context)


@require_GET
def morning_sheets_pdf(request: HttpRequest) -> HttpResponse:
    """One page for each crew that this person sees, or for one of them (`crew`)."""
    now, form, day = timezone.now(), *_asked(request)
    if form.errors:
        return redirect("evening_plan")
    own, found = _own(request), evening(day, now)
    needs = [
        need
        for need in found.needs
        if need.crew.pk in own and request.GET.get("crew", "") in ("", need.crew.pk)
    ]
    if not needs:
        messages.error(request, _("No crew of yours has a plan for that day: there is nothing to print."))
        return redirect(f"{reverse('evening_plan')}?day={day.isoformat()}")
    sheets = [sheet(need, found) for need in needs]
    return pdf(morning_sheets(sheets, settings.FARM_NAME), f"morning-{day.isoformat()}")


def _own(request: HttpRequest) -> set[str]:
    """The crews whose pages this person may open."""
    if not link(request.user, "morning_sheets_pdf"):  # type: ignore[arg-type]
        return set()
    return set(crews(request.user).values_list("pk", flat=True))  # type: ignore[arg-type]


def _asked(request: HttpRequest) -> tuple[DayForm, date]:
    """The form, and its day; without one the next day with plans, else tomorrow."""
    today = timezone.localdate()
    if "day" in request.GET:
        form = DayForm(request.GET)
        return form, form.cleaned_data["day"] if form.is_valid() else today
    day = next_day(timezone.now()) or today + timedelta(days=1)
    return DayForm({"day": day.isoformat()}), day
