"""The charts: on the page as pictures with their tables, and both to take along."""

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django import forms
from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews import policy
from crews.models import Store, User
from equipment.documents.charts import CHARTS, Chart, Figures, counted, svg
from equipment.documents.charts.paper import Of, charts_pdf
from equipment.documents.registers.inert import inert_anywhere
from equipment.models.charts import Window
from equipment.pages.printing import pdf
from equipment.pages.registers.asking import NOT_THERE
from equipment.pages.registers.days import presets
from equipment.pages.registers.days_form import DaysForm


class WindowForm(DaysForm):
    store = forms.ModelChoiceField(
        Store.objects.all(),
        label=gettext_lazy("Store"),
        required=False,
        empty_label=gettext_lazy("all"),
        error_messages={"invalid_choice": NOT_THERE},
    )

    def __init__(self, data: QueryDict, today: date) -> None:
        given = data.copy()
        self.presets = presets(today)
        if "first" not in given and "last" not in given:
            season = next(days for days in self.presets if days.season)
            given["first"], given["last"] = season.first.isoformat(), season.last.isoformat()
        super().__init__(given)

    @property
    def window(self) -> Window:
        data = self.cleaned_data
        return Window(data["first"], data["last"], data["store"].pk if data["store"] else "")


@dataclass(frozen=True, slots=True)
class Shown:
    chart: Chart
    figures: Figures

    @property
    def title(self) -> str:
        return _(self.chart.title)

    @property
    def about(self) -> str:
        return _(self.chart.about)

    @property
    def empty(self) -> str:
        return _(self.chart.empty)


def charts(request: HttpRequest) -> HttpResponse:
    form = WindowForm(request.GET, timezone.localdate())
    context: dict[str, Any] = {"form": form, "presets": form.links(form.presets)}
    if form.is_valid():
        context |= {"shown": list(_shown(request.user, form.window, timezone.now())), "query": form.query()}
    return render(request, "charts.html", context)


def charts_paper(request: HttpRequest) -> HttpResponse:
    form = WindowForm(request.GET, timezone.localdate())
    if not form.is_valid():
        return redirect(f"{reverse('charts')}?{request.GET.urlencode()}")
    at = timezone.now()
    made = [(each.chart, each.figures) for each in _shown(request.user, form.window, at)]
    days = f"{form.window.first}-to-{form.window.last}"
    return pdf(
        charts_pdf(Of(settings.FARM_NAME, _said(form), at, settings.PAPER_SIZE), made), f"charts-{days}"
    )


def chart(request: HttpRequest, name: str, form: str) -> HttpResponse:
    """One of them as a picture (`svg`), or its table (`csv`)."""
    if name not in CHARTS:
        raise Http404
    if not policy.may_print(request.user, CHARTS[name].register):
        raise PermissionDenied
    asked = WindowForm(request.GET, timezone.localdate())
    if not asked.is_valid():
        return redirect(f"{reverse('charts')}?{request.GET.urlencode()}")
    of = Shown(CHARTS[name], counted(CHARTS[name], asked.window, timezone.now()))
    if form == "csv":
        return _table(of, asked)
    if of.figures.bars is None:
        raise Http404
    answer = HttpResponse(svg(of.figures.bars, of.title, of.about), content_type="image/svg+xml")
    answer["Cache-Control"] = "private, no-cache"
    if "download" in request.GET:
        answer["Content-Disposition"] = f'attachment; filename="{_name(of, asked)}.svg"'
    return answer


def _shown(user: User, window: Window, at: datetime) -> Iterator[Shown]:
    for each in CHARTS.values():
        if policy.may_print(user, each.register):
            yield Shown(each, counted(each, window, at))


def _table(of: Shown, asked: WindowForm) -> HttpResponse:
    made = io.StringIO(newline="")
    rows = csv.writer(made, quoting=csv.QUOTE_NONNUMERIC)
    for row in ((of.title,), (_said(asked),), (of.about,), (), of.figures.head, *of.figures.rows):
        rows.writerow(_inert(row))
    name = f'attachment; filename="{_name(of, asked)}.csv"'
    return HttpResponse(
        "\ufeff" + made.getvalue(),
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": name, "Cache-Control": "no-store"},
    )


def _inert(row: Sequence[str | int]) -> list[str | int]:
    return [inert_anywhere(cell) if isinstance(cell, str) else cell for cell in row]


def _name(of: Shown, asked: WindowForm) -> str:
    return f"{of.chart.name}-{asked.window.first}-to-{asked.window.last}"


def _said(form: WindowForm) -> str:
    """The period and the store, as people say them."""
    first, last = (date_format(day, _("j F Y")) for day in (form.window.first, form.window.last))
    words = {"first": first, "last": last, "store": form.cleaned_data["store"]}
    if form.window.store:
        return _("%(first)s to %(last)s, recorded in %(store)s") % words
    return _("%(first)s to %(last)s") % words
