"""The disease trace: asked by its address, kept as a case, flagged and printed from there."""

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_POST

from crews import policy
from crews.models import Store
from equipment.actions import names
from equipment.actions.trace import keeping
from equipment.actions.trace.running import Found, disease_of, run
from equipment.actions.wording import NotDone
from equipment.actions.writing import Pen
from equipment.documents.recall_list import Recall, RecallRow, recall_list
from equipment.models import Case
from equipment.pages.printing import pdf
from equipment.pages.trace import showing
from equipment.pages.trace.forms import TraceForm

MOST_CASES = 50
MOST_WHY = 500
MOST_SHOWN = 1000
"""Pieces to flag at once: when these are flagged, the next ones are shown."""


def trace(request: HttpRequest) -> HttpResponse:
    """Asked by GET; what was asked is kept by POST."""
    now = timezone.now()
    data = request.POST if request.method == "POST" else request.GET
    form = TraceForm(data if "block" in data else None, now)
    if not form.is_valid():
        return render(request, "trace.html", {"form": form, "cases": _cases(), **_may(request)})
    found = run(form.disease_chosen, form.question)
    if request.method == "POST":
        case = keeping.keep(found, request.user, now, request.POST.get("why", "").strip()[:MOST_WHY])  # type: ignore[arg-type]
        messages.success(request, _("Kept as case %(number)s.") % {"number": case.number})
        return redirect("trace_case", case.number)
    recall = showing.recalled(found, [found.rows[piece] for piece in found.carrying])
    context = {"form": form, "recall": recall[:MOST_SHOWN], "hidden": len(recall[MOST_SHOWN:])}
    return render(request, "trace.html", {**context, **showing.shown(found), **_may(request)})


@require_GET
def trace_case(request: HttpRequest, number: int) -> HttpResponse:
    case, found = _case(number)
    flagged = keeping.flags_of(case)
    waiting = showing.recalled(found, keeping.to_flag(found, case))
    context = {
        "case": case,
        "differs": showing.differs(case, found),
        "flagged": showing.recalled(found, [found.rows[each] for each in found.pieces if each in flagged]),
        "standing": len(flagged),
        "recall": waiting[:MOST_SHOWN],
        "hidden": len(waiting[MOST_SHOWN:]),
    }
    return render(request, "trace_case.html", {**context, **showing.shown(found), **_may(request)})


@require_POST
def trace_flag(request: HttpRequest, number: int) -> HttpResponse:
    case, found = _case(number)
    try:
        count = keeping.flag(_pen(request), case, found, set(request.POST.getlist("tag")))
    except NotDone as why:
        messages.error(request, str(why))
    else:
        said = ngettext("%(n)d piece is flagged.", "%(n)d pieces are flagged.", count)
        messages.success(request, said % {"n": count})
    return redirect("trace_case", number)


@require_POST
def trace_unflag(request: HttpRequest, number: int) -> HttpResponse:
    case = get_object_or_404(Case, pk=number)
    try:
        count = keeping.take_flags_off(_pen(request), case, request.POST.get("why", "")[:MOST_WHY])
    except NotDone as why:
        messages.error(request, str(why))
    else:
        said = ngettext("%(n)d flag is taken off.", "%(n)d flags are taken off.", count)
        messages.success(request, said % {"n": count})
    return redirect("trace_case", number)


@require_GET
def trace_recall(request: HttpRequest, number: int) -> HttpResponse:
    """The list for recall: what may still carry it, where it is now, a box to tick."""
    case, found = _case(number)
    rows = [found.rows[piece] for piece in found.carrying if found.rows[piece].place != "gone"]
    told = showing.recalled(found, rows)
    shown = showing.shown(found)
    day = date_format(timezone.localtime(case.since), _("j F Y"))
    recall = Recall(
        case.number,
        names.disease(case.disease),
        case.block_id,
        day,
        timezone.localtime(timezone.now()),
        shown["no_route"] or shown["nothing"] or shown["sums"],
        shown["ends"],
        tuple(RecallRow(each.tag, each.what, each.where, tuple(each.path)) for each in told),
        tuple(shown["cautions"]),
    )
    return pdf(recall_list(recall, settings.FARM_NAME), f"recall-{case.number}")


def _case(number: int) -> tuple[Case, Found]:
    """The case and what the book says to it now."""
    case = get_object_or_404(Case.objects.select_related("block", "by"), pk=number)
    disease = disease_of(case.disease)
    if disease is None:
        raise Http404
    return case, run(disease, case.question)


def _cases() -> list[tuple[Case, str]]:
    return [(case, names.disease(case.disease)) for case in Case.objects.newest_first()[:MOST_CASES]]


def _pen(request: HttpRequest) -> Pen:
    """In the book of the store that this person works from; a piece that is in no store goes there."""
    store = request.user.store_id or Store.objects.order_by("pk").values_list("pk", flat=True).first()  # type: ignore[union-attr]
    return Pen(request.user, store or "", timezone.now())  # type: ignore[arg-type]


def _may(request: HttpRequest) -> dict[str, Any]:
    return {
        "may_keep": policy.may_open(request.user, "trace", "POST"),
        "may_flag": policy.may_act(request.user, "flag"),
    }
