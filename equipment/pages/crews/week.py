"""The plans of a week: crews down, days across, fit to be printed; and a day's plans copied to another."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from crews import policy
from crews.models import Crew, DayPlan
from equipment.actions.change_plan import copy_day
from equipment.models.reading import crews
from equipment.models.replanning import standing
from equipment.pages.crews.beside import sheet

# Far enough for any season; beyond lie dates that cannot be counted on with.
FIRST_DAY, LAST_DAY = date(2000, 1, 3), date(2099, 12, 20)


@dataclass(frozen=True)
class CrewWeek:
    """A crew's plans day by day, each day's in the order of the day."""

    crew: Crew
    days: list[tuple[date, list[DayPlan]]]


class CopyForm(forms.Form):
    source = forms.DateField(
        label=gettext_lazy("Copy the plans of"), widget=forms.DateInput(attrs={"type": "date"})
    )
    target = forms.DateField(label=gettext_lazy("to"), widget=forms.DateInput(attrs={"type": "date"}))

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if data.get("source") and data.get("source") == data.get("target"):
            raise forms.ValidationError(_("Choose two days."))
        return data


def week(request: HttpRequest) -> HttpResponse:
    day = asked_day(request.GET.get("day", ""))
    return _page(request, day, CopyForm(initial={"source": day, "target": day + timedelta(days=1)}))


def copy_plans(request: HttpRequest) -> HttpResponse:
    form = CopyForm(request.POST)
    if not form.is_valid():
        return _page(request, timezone.localdate(), form)
    target = form.cleaned_data["target"]
    count, left_alone = copy_day(form.cleaned_data["source"], target)
    day = date_format(target, _("l, j F"))
    said = ngettext("%(count)d plan was copied to %(day)s.", "%(count)d plans were copied to %(day)s.", count)
    messages.success(request, said % {"count": count, "day": day})
    if left_alone:
        names = ", ".join(crew.name for crew in left_alone)
        messages.warning(request, _("Left alone, because planned already: %(crews)s.") % {"crews": names})
    return redirect(f"{reverse('plans')}?day={target.isoformat()}")


def asked_day(text: str) -> date:
    """The day in an address; today where it cannot be read."""
    try:
        day = parse_date(text)
    except ValueError:
        day = None
    return min(max(day or timezone.localdate(), FIRST_DAY), LAST_DAY)


def _page(request: HttpRequest, day: date, form: CopyForm) -> HttpResponse:
    monday = day - timedelta(days=day.weekday())
    days = [monday + timedelta(days=step) for step in range(7)]
    context = {
        "weeks": crew_weeks(crews(request.user), days),
        "days": days,
        "today": timezone.localdate(),
        "before": monday - timedelta(days=7),
        "after": monday + timedelta(days=7),
        "may_add": policy.may_open(request.user, "plan_new", "POST"),
        "form": form if policy.may_open(request.user, "plans_copy", "POST") else None,
    }
    return sheet(request, "plans.html", context)


def crew_weeks(rows: QuerySet[Crew], days: list[date]) -> list[CrewWeek]:
    """Three queries: the crews that work, their plans, and how they changed them."""
    found = list(rows.filter(active=True))
    plans = DayPlan.objects.filter(date__range=(days[0], days[-1]), crew__in=found).select_related("block")
    shown = standing(plans, (days[0], days[-1]), [crew.pk for crew in found])
    by_day: dict[tuple[str, date], list[DayPlan]] = defaultdict(list)
    for plan in shown:
        by_day[plan.crew_id, plan.date].append(plan)
    return [CrewWeek(crew, [(day, by_day[crew.pk, day]) for day in days]) for crew in found]
