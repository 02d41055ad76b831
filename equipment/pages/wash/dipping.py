"""Dip, wash and dry by scanning: the page, what its script asks at every scan, and a whole crew's gear in one act."""

from collections import Counter
from datetime import datetime
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_GET

from crews.models import Crew
from equipment.actions.clean import Way, clean
from equipment.actions.wording import refusal
from equipment.actions.writing import Pen
from equipment.domain.refusals import REFUSALS
from equipment.ledger import Outcome
from equipment.models import ItemState, Kind
from equipment.pages.landing import NothingThere, item_of
from equipment.pages.wash import checking, here, script
from equipment.pages.wash.forms import CrewForm
from equipment.pages.wash.recipes import KnownRecipe, known
from equipment.pages.wash.ways import Known, ways

OUT = ("picker", "crew", "orchard")


@ensure_csrf_cookie
@require_GET
def wash_dip(request: HttpRequest) -> HttpResponse:
    store, at = here.store_of(request), timezone.now()
    found = ways(store.pk, at)
    context = {
        "store": store,
        "ways": [{"way": way, "recipe": _beside(way, at)} for way in found.values()],
        "any_bath": any(way.bath for way in found.values()),
        "script": script.for_script(request, store.pk, found),
        "tags": script.TAGS,
    }
    return render(request, "wash_dip.html", context)


def _beside(way: Known, at: datetime) -> KnownRecipe | None:
    """The cautions and steps that stand beside a way."""
    return known(way.recipe.code, at) if way.recipe else None


@require_GET
def wash_check(request: HttpRequest, code: str) -> JsonResponse:
    """Whether the piece with this label may go `way`, with `waiting` pieces in the group already."""
    store, at = here.store_of(request), timezone.now()
    way = ways(store.pk, at).get(request.GET.get("way", ""))
    if way is None:
        return JsonResponse(script.no_such_way())
    try:
        row = item_of(request.user, code).state  # type: ignore[arg-type]
    except NothingThere as why:
        return JsonResponse(checking.not_found(code[:40], str(why)))
    waiting = request.GET.get("waiting", "")
    return JsonResponse(
        checking.check(row, way, int(waiting) if waiting.isdecimal() and len(waiting) < 5 else 0, at)
    )


def wash_crew(request: HttpRequest) -> HttpResponse:
    """All pieces of one kind that a crew has: looked at first, written down upon `confirmed`."""
    store, at = here.store_of(request), timezone.now()
    found = ways(store.pk, at)
    kinds = [(kind.pk, _(kind.name_plural)) for kind in Kind.objects.all() if _any_way(kind.pk, found)]
    asked = request.POST if request.method == "POST" else None
    choices = [(way.code, way.name) for way in found.values()]
    form = CrewForm(asked, request.user, choices, kinds)  # type: ignore[arg-type]
    context: dict[str, Any] = {"store": store, "form": form}
    if not form.is_valid():
        return render(request, "wash_crew.html", context, status=400 if form.is_bound else 200)
    said = form.cleaned_data
    way, crew = found[said["way"]], said["crew"]
    if way.kinds is not None and said["kind"] not in way.kinds:
        form.add_error("way", _("“%(way)s” is not for this kind of gear.") % {"way": way.name})
        return render(request, "wash_crew.html", context, status=400)
    rows = list(_gear(crew, said["kind"]))
    if "confirmed" not in request.POST or not rows:
        context |= {"rows": rows, "crew": crew, "way": way, "recipe": _beside(way, at), "looked": True}
        return render(request, "wash_crew.html", context)
    seconds = round(said["minutes"] * 60) if said["minutes"] is not None else None
    recipe = way.recipe.code if way.recipe and not way.bath else None
    done = Way(way.method, way.bath.own if way.bath else None, recipe, seconds, each_scanned=False)
    outcomes = clean(Pen(request.user, store.pk, at), rows, done)  # type: ignore[arg-type]
    _tell(request, outcomes, crew)
    return redirect(here.at_store(reverse("wash"), store.pk))


def _any_way(kind: str, found: dict[str, Known]) -> bool:
    return any(way.kinds is None or kind in way.kinds for way in found.values())


def _gear(crew: Crew, kind: str) -> Any:
    rows = ItemState.objects.filter(crew=crew, place__in=OUT, item__kind=kind)
    return rows.select_related("item__kind").order_by("tag")


def _tell(request: HttpRequest, outcomes: list[Outcome], crew: Crew) -> None:
    """How many count, and why the others do not."""
    counting = sum(outcome.recorded and not set(outcome.codes) & set(REFUSALS) for outcome in outcomes)
    if counting:
        said = ngettext(
            "Written down for %(crew)s as a whole: %(n)d piece.",
            "Written down for %(crew)s as a whole: %(n)d pieces.",
            counting,
        )
        messages.success(request, said % {"n": counting, "crew": crew.name})
    against = Counter(code for outcome in outcomes for code in outcome.codes)
    for code, number in against.items():
        said = ngettext("%(n)d piece: %(why)s", "%(n)d pieces: %(why)s", number)
        messages.error(request, said % {"n": number, "why": refusal(code, {})})
