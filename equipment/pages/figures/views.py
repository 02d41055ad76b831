"""Figures: what to do first, and behind it each table with its drawing, to look at and to take along."""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from equipment.documents.charts import svg
from equipment.documents.charts.paper import Of, charts_pdf
from equipment.documents.figures import OF_A_KIND, PAGES, Figure
from equipment.documents.registers.inert import inert_anywhere
from equipment.pages.figures.asking import Asked, asked, may_see
from equipment.pages.printing import pdf

FIRST_SENTENCES = 6


@dataclass(frozen=True, slots=True)
class Link:
    words: str
    address: str


@require_safe
def figures(request: HttpRequest) -> HttpResponse:
    of = asked(request, "lifetimes")
    (found,) = of.figures
    kinds = dict.fromkeys(line["kind"] for line in found.lines if line["pieces"])
    context = {
        "pages": [page for page in PAGES.values() if may_see(request.user, page)],  # type: ignore[arg-type]
        "says": found.says[:FIRST_SENTENCES],
        "further": len(found.says[FIRST_SENTENCES:]),
        "kinds": [(OF_A_KIND + kind, of.beside.kind(kind, plural=True)) for kind in kinds],
        "levels": _levels(of.beside.chosen),
    }
    return render(request, "figures.html", context)


def _levels(chosen: Any) -> str:
    words = {"level": f"{100 * chosen.level:g}", "weeks": chosen.weeks}
    return _("So sure not to run short: %(level)s %%. Weeks ahead that are bought for: %(weeks)s.") % words


@require_safe
def figure(request: HttpRequest, name: str) -> HttpResponse:
    of = asked(request, name)
    shown = [(each, _links(each)) for each in of.figures]
    context = {
        "of": of,
        "shown": shown,
        "form": of.form,
        "presets": of.form.links(of.form.presets) if of.form else [],
        "drawn": any(each.figures.rows for each, _links_of in shown),
        "kinds": _kinds(of) if name == "lifetimes" else [],
        "about": _(of.page.about) if of.page.about else "",
    }
    return render(request, "figures_one.html", context)


def _kinds(of: Asked) -> list[Link]:
    """The kinds that have curves."""
    used = dict.fromkeys(line["kind"] for each in of.figures for line in each.lines)
    return [
        Link(of.beside.kind(kind, plural=True), reverse("figure", args=[OF_A_KIND + kind])) for kind in used
    ]


def _links(figure: Figure) -> list[Link]:
    """To the entries; a piece by its tag, a list by its query."""
    found = []
    for words, name, more in figure.links:
        if name == "gear":
            found.append(Link(words, reverse("gear") + (f"?{more}" if more else "")))
        else:
            found.append(Link(words, reverse(name, args=[more])))
    return found


@require_safe
def figure_pdf(request: HttpRequest, name: str) -> HttpResponse:
    of = asked(request, name)
    found = of.figures
    if not found:
        return redirect(f"{reverse('figure', args=[name])}?{request.GET.urlencode()}")
    made = charts_pdf(
        Of(settings.FARM_NAME, of.said, of.at, settings.PAPER_SIZE), [(each, each.figures) for each in found]
    )
    return pdf(made, f"figures-{name}")


@require_safe
def figure_picture(request: HttpRequest, name: str, which: str) -> HttpResponse:
    found = asked(request, name).one(which)
    if found.figures.bars is None:
        raise Http404
    answer = HttpResponse(svg(found.figures.bars, found.title, found.about), content_type="image/svg+xml")
    answer["Cache-Control"] = "private, no-cache"
    if "download" in request.GET:
        answer["Content-Disposition"] = f'attachment; filename="{name}-{which}.svg"'
    return answer


@require_safe
def figure_table(request: HttpRequest, name: str, which: str) -> HttpResponse:
    of = asked(request, name)
    found = of.one(which)
    made = io.StringIO(newline="")
    rows = csv.writer(made, quoting=csv.QUOTE_NONNUMERIC)
    counted = date_format(timezone.localtime(of.at), _("j F Y H:i"))
    above: Sequence[Sequence[str | int]] = ((found.title,), (of.said,), (counted,), (found.about,))
    for row in (
        *above,
        *((said,) for said in (*found.says, *found.waits)),
        (),
        found.figures.head,
        *found.figures.rows,
    ):
        rows.writerow([inert_anywhere(cell) if isinstance(cell, str) else cell for cell in row])
    name = f'attachment; filename="{name}-{which}.csv"'
    headers = {"Content-Disposition": name, "Cache-Control": "no-store"}
    return HttpResponse("\ufeff" + made.getvalue(), content_type="text/csv; charset=utf-8", headers=headers)
