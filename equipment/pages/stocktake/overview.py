"""Stocktakes: those that run, those that are over, beginning one, ending one, its report."""

from typing import Any
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from crews import policy
from crews.models import Store
from equipment.actions.stocktake.begin import begin, end
from equipment.actions.wording import NotDone
from equipment.documents.registers.leaves import A4, SIZES
from equipment.documents.stocktake_report import stocktake_report
from equipment.models import Stocktake, stocktaking
from equipment.pages.counter.here import counter_of
from equipment.pages.keys import moment
from equipment.pages.printing import pdf
from equipment.pages.stocktake import words
from equipment.pages.stocktake.counting import one
from equipment.pages.stocktake.forms import BeginForm, EndForm
from equipment.pages.stocktake.report import report

PAST = 20


def stocktakes(request: HttpRequest) -> HttpResponse:
    form = BeginForm(request.POST if request.method == "POST" else None, _here(request))
    if form.is_valid():
        said = form.cleaned_data
        kinds = [kind.pk for kind in said["kinds"]]
        try:
            own = begin(said["store"], kinds, request.user, timezone.now())  # type: ignore[arg-type]
            return redirect("stocktake", own.pk)
        except NotDone as why:
            form.add_error(None, str(why))
    may = policy.may_open(request.user, "stocktakes", "POST")
    context = {"form": form if may else None, "open": list(map(_open, _rows().filter(ended_at=None)))}
    return render(request, "stocktakes.html", context | _past(request), status=400 if form.is_bound else 200)


def _here(request: HttpRequest) -> Store | None:
    counter = counter_of(request)
    own = counter.store if counter and counter.store_id else request.user.store  # type: ignore[union-attr]
    return own or Store.objects.first()


def _rows() -> Any:
    return Stocktake.objects.select_related("store", "begun_by", "ended_by").defer(
        "result", "begun_heads", "ended_heads"
    )


def _open(own: Stocktake) -> dict[str, Any]:
    return {"own": own, "counted": words.counted(own), "total": words.progress(stocktaking.count(own))}


def _past(request: HttpRequest) -> dict[str, Any]:
    """Ended ones, the newest first; the page begins after the one that began at `after`."""
    rows, after = _rows().filter(ended_at__isnull=False), moment(request.GET.get("after", ""))
    page = list((rows.filter(Q(begun_at__lt=after)) if after else rows)[: PAST + 1])
    first = reverse("stocktakes") if after else None
    past = [{"own": own, "counted": words.counted(own)} for own in page[:PAST]]
    if len(page) <= PAST:
        return {"past": past, "next_url": None, "first_url": first}
    query = request.GET.copy()
    query["after"] = page[PAST - 1].begun_at.isoformat()
    return {"past": past, "next_url": f"?{query.urlencode()}", "first_url": first}


@require_POST
def stocktake_end(request: HttpRequest, pk: UUID) -> HttpResponse:
    own, form = one(pk), EndForm(request.POST)
    why = form.cleaned_data["why_open"] if form.is_valid() else ""
    try:
        end(own, request.user, timezone.now(), why)  # type: ignore[arg-type]
    except NotDone as error:
        messages.error(request, str(error))
    else:
        messages.success(request, _("The stocktake has ended. Print its report, and have it signed."))
    return redirect("stocktake_settle", pk)


@require_GET
def stocktake_pdf(request: HttpRequest, pk: UUID) -> HttpResponse:
    own = Stocktake.objects.select_related("store", "begun_by", "ended_by").get(pk=one(pk).pk)
    name = f"stocktake-{own.store_id}-{timezone.localtime(own.begun_at):%Y-%m-%d}"
    size = SIZES.get(settings.PAPER_SIZE, A4)
    return pdf(stocktake_report(report(own, timezone.now()), settings.FARM_NAME, size), name)
