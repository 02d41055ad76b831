"""The audits, and one of them: its sample, the field that takes scans, what was found."""

from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from crews import policy
from equipment.actions.audit.answering import Look, recorded_checks
from equipment.actions.audit.closing import close
from equipment.actions.audit.reading import last_answer, standing
from equipment.actions.wording import NotDone
from equipment.domain.counter_tags import COUNTER_TAGS
from equipment.models import Audit, ItemState
from equipment.models.audits import ABSENT, FAULTY, GOOD
from equipment.pages.audits import lines, words
from equipment.pages.audits.opened import opened
from equipment.pages.audits.scanning import Scan, give, take, undo_last
from equipment.pages.bench.form import GOOD as ALL_GOOD
from equipment.pages.bench.form import OPEN, ScanForm
from equipment.pages.bench.scanning import After
from equipment.pages.inspect_form import InspectForm
from equipment.pages.landing import NothingThere, item_of, nothing_there
from equipment.pages.links import link
from equipment.pages.piece import Asked, piece

A_PAGE = 50
MOST_WHY = 500


def audits(request: HttpRequest) -> HttpResponse:
    """The newest first."""
    before = request.GET.get("before", "")
    rows = Audit.objects.counted().select_related("kind", "store", "drawn_by").defer("lot")
    if before.isascii() and before.isdigit() and len(before) < 16:
        rows = rows.filter(pk__lt=int(before))
    page = list(rows[: A_PAGE + 1])
    context = {
        "audits": [words.summary(row) for row in page[:A_PAGE]],
        "next_url": f"?before={page[A_PAGE - 1].pk}" if len(page) > A_PAGE else None,
        "first_url": reverse("audits") if before else None,
        "new": link(request.user, "audit_new"),  # type: ignore[arg-type]
    }
    return render(request, "audits.html", context)


def audit(request: HttpRequest, number: int) -> HttpResponse:
    found = _audit(number)
    if request.method == "POST":
        return _scanned(request, found)
    asked = request.GET.get("piece", "")
    if not asked:
        return _page(request, found)
    try:
        state = item_of(request.user, asked).state  # type: ignore[arg-type]
    except NothingThere as why:
        messages.error(request, str(why))
        return redirect("audit", number)
    return _page(request, found, opened(request.user, found, state))  # type: ignore[arg-type]


def audit_answer(request: HttpRequest, number: int, tag: str) -> HttpResponse:
    """What a form says of a piece, for whoever has no tags to scan."""
    found = _audit(number)
    try:
        state = item_of(request.user, tag).state  # type: ignore[arg-type]
    except NothingThere as why:
        return nothing_there(request, why)
    scan = Scan(request, found, tag, request.POST.get("scan", OPEN), state.tag)
    said = request.POST.get("said", "")
    if said in (GOOD, ABSENT):
        return _go(found, give(scan, state, Look(said)))
    if said == FAULTY:
        note = request.POST.get("note", "")[:MOST_WHY].strip()
        return _go(found, give(scan, state, Look(FAULTY, request.POST.get("fault", ""), note=note)))
    return _by_checklist(scan, state)


def _by_checklist(scan: Scan, state: ItemState) -> HttpResponse:
    checklist = scan.request.POST.get("checklist", "")
    if checklist not in recorded_checks(state.item.kind_id):
        raise Http404
    asked = Asked("inspect", scan.user, piece(state, timezone.now()), checklist)
    form = InspectForm(scan.request.POST, asked)
    if not form.is_valid():
        return _page(scan.request, scan.audit, opened(scan.user, scan.audit, state, form), status=400)
    data = form.cleaned_data
    look = Look("", "", checklist, data["answers"], data["expiries"], data["note"])
    return _go(scan.audit, give(scan, state, look))


def audit_take_back(request: HttpRequest, number: int) -> HttpResponse:
    found, answer = _audit(number), request.POST.get("answer", "")
    given = int(answer) if answer.isascii() and answer.isdigit() and len(answer) < 16 else None
    scan = Scan(request, found, "", request.POST.get("scan", OPEN), "")
    return _go(found, undo_last(scan, given))


def audit_close(request: HttpRequest, number: int) -> HttpResponse:
    found = _audit(number)
    try:
        close(found, request.user, timezone.now(), request.POST.get("why", "")[:MOST_WHY])  # type: ignore[arg-type]
    except NotDone as why:
        messages.error(request, str(why))
    else:
        messages.success(request, _("The audit is closed. Print the finding, and have it signed."))
    return redirect("audit", number)


def _audit(number: int) -> Audit:
    rows = Audit.objects.select_related("kind", "store", "drawn_by", "closed_by")
    return get_object_or_404(rows, pk=number)


def _scanned(request: HttpRequest, found: Audit) -> HttpResponse:
    form = ScanForm(request.POST)
    if not form.is_valid():
        messages.error(request, " ".join(error for errors in form.errors.values() for error in errors))
        return redirect("audit", found.pk)
    said: dict[str, Any] = form.cleaned_data
    return _go(found, take(Scan(request, found, said["code"], said["scan"], said["piece"])))


def _go(found: Audit, after: After) -> HttpResponse:
    asked = {"scan": after.scan if after.scan == ALL_GOOD else "", "piece": after.piece}
    query = urlencode({name: value for name, value in asked.items() if value})
    address = reverse("audit", args=[found.pk])
    return redirect(f"{address}?{query}#piece" if after.piece else f"{address}?{query}".rstrip("?"))


def _page(request: HttpRequest, found: Audit, shown: Any = None, status: int = 200) -> HttpResponse:
    now = standing(found)
    sample = lines.lines(found, now)
    mode = ALL_GOOD if request.GET.get("scan") == ALL_GOOD else OPEN
    answering = found.closed_at is None and policy.may_open(request.user, "audit", "POST")
    context = {
        "audit": found,
        "told": words.told(found),
        "now": now,
        "counts": {said: now.counts[said] for said in (GOOD, FAULTY, ABSENT)},
        "found": words.found(now),
        "to_do": lines.to_do(sample),
        "done": lines.done(sample),
        "answering": answering,
        "last": last_answer(found, request.user) if answering else None,  # type: ignore[arg-type]
        "closing": found.closed_at is None and policy.may_open(request.user, "audit_close", "POST"),
        "mode": mode,
        "scan": ScanForm(
            initial={"scan": mode, "piece": shown.state.tag if shown else ""}, auto_id="scan_%s"
        ),
        "all_good": next(tag for tag in COUNTER_TAGS.values() if tag.name == "all_good"),
        "shown": shown,
    }
    return render(request, "audits_one.html", context, status=status)
