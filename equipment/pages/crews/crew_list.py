"""The crews: who leads them, where their gear comes from, how many they are, and what they do today."""

from typing import Any

from django.contrib import messages
from django.db.models import Count, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews import policy
from crews.models import Crew
from equipment.actions.found_crew import found_crew
from equipment.models import Membership
from equipment.models.kits import plans_by_crew
from equipment.models.reading import crews
from equipment.pages.crews.beside import sheet
from equipment.pages.crews.fields import Plain, SupervisorField


class CrewForm(Plain):
    supervisor = SupervisorField(label=gettext_lazy("Supervisor"))
    names = ("name",)

    class Meta:
        model = Crew
        fields = ("name", "store", "supervisor")


def crew_list(request: HttpRequest) -> HttpResponse:
    form = CrewForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        crew = found_crew(form.save(commit=False))
        messages.success(
            request, _("%(crew)s is a crew now. Its tag is %(code)s.") % {"crew": crew, "code": crew.pk}
        )
        return redirect("crew", crew.pk)
    may_add = policy.may_open(request.user, "crews", "POST")
    lines, resting = _lines(crews(request.user))
    context = {"lines": lines, "resting": resting, "form": form if may_add else None}
    return sheet(request, "crews.html", context)


def _lines(rows: QuerySet[Crew]) -> tuple[list[dict[str, Any]], list[Crew]]:
    """The crews that work, each with its head-count and plans of today; and those that rest."""
    found = list(rows.select_related("store", "supervisor"))
    counted = Membership.objects.filter(crew__in=found).current().values("crew").annotate(count=Count("id"))
    counts = {row["crew"]: row["count"] for row in counted}
    plans = plans_by_crew(timezone.localdate(), [crew.pk for crew in found])
    lines = [
        {"crew": crew, "count": counts.get(crew.pk, 0), "plans": plans.get(crew.pk, [])}
        for crew in found
        if crew.active
    ]
    return lines, [crew for crew in found if not crew.active]
