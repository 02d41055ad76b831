"""A new audit: how many to look at, told at once; then they are drawn."""

from dataclasses import dataclass
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from equipment.actions.audit.drawing import Planned, Wanted, draw_sample, plan
from equipment.actions.wording import NotDone, filled
from equipment.actions.writing import new_id
from equipment.domain.audit import ASSUMPTIONS, by_chance
from equipment.pages.audits.forms import AskForm
from equipment.pages.fault_texts import cautions


@dataclass(frozen=True)
class Told:
    """The plan in words; `why_all` in place of `chance` for what is never sampled."""

    planned: Planned
    chance: str
    rounded: str
    why_all: str
    cautions: list[str]


def audit_new(request: HttpRequest) -> HttpResponse:
    """GET reckons, POST draws; both with the same fields."""
    if request.method == "POST":
        return _draw(request)
    form = AskForm(request.GET) if request.GET.get("kind") else AskForm(initial=_usual(request))
    return _page(request, form, 200)


def _draw(request: HttpRequest) -> HttpResponse:
    form = AskForm(request.POST)
    if form.is_valid():
        try:
            act = UUID(request.POST.get("act", ""))
        except ValueError:
            act = new_id()
        try:
            drawn = draw_sample(form.wanted(), act, request.user, timezone.now())  # type: ignore[arg-type]
        except NotDone:
            return _page(request, form, 400)
        said = _("%(sample)d of %(lot)d are drawn. Scan each one, and say what it is like.")
        messages.success(request, said % {"sample": drawn.sample, "lot": drawn.count})
        return redirect("audit", drawn.pk)
    return _page(request, form, 400)


def _page(request: HttpRequest, form: AskForm, status: int) -> HttpResponse:
    told = None
    if form.is_bound and form.is_valid():
        try:
            told = _told(form.wanted())
        except NotDone as why:
            form.add_error(None, str(why))
    context = {
        "form": form,
        "told": told,
        "assumptions": [_(each) for each in ASSUMPTIONS],
        "act": new_id(),
        "fields": [(name, form.data.get(name, "")) for name in form.fields] if told else (),
    }
    return render(request, "audits_new.html", context, status=status)


def _told(wanted: Wanted) -> Told:
    planned = plan(wanted)
    chance, rounded = by_chance(planned.question), planned.rounded
    return Told(
        planned,
        "" if planned.why_all else filled(chance.words, chance.params),
        filled(rounded.words, rounded.params) if rounded else "",
        _(planned.why_all) if planned.why_all else "",
        list(cautions(wanted.lot.kind)),
    )


def _usual(request: HttpRequest) -> dict[str, object]:
    """What stands in the form to begin with: the person's own store."""
    store = getattr(request.user, "store_id", None)
    return {"store": store} if store else {}
