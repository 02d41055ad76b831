"""The bench: what is set aside, what to do about it, and one scan to begin with each piece."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone

from equipment.actions.follow_rules import catch_up
from equipment.domain.counter_tags import COUNTER_TAGS
from equipment.models import bench as of_bench
from equipment.models.kits import bounds
from equipment.pages import condition, places
from equipment.pages.bench import lists
from equipment.pages.bench.form import GOOD, OPEN, NarrowForm, ScanForm, kept
from equipment.pages.bench.scanning import Scan, take
from equipment.pages.item_forms import NoteForm
from equipment.pages.landing import NothingThere, item_of, nothing_there
from equipment.pages.links import link
from equipment.pages.offers import Bygone, offers, sent
from equipment.pages.piece import Piece, piece

# What is done at the bench; the rest is done on the piece's own page.
HERE = frozenset({"mend", "pass", "inspect", "all_good", "report_fault", "write_off"})


def bench(request: HttpRequest) -> HttpResponse:
    if request.method == "POST":
        return _scanned(request)
    catch_up(timezone.now())
    asked = request.GET.get("piece", "")
    if not asked:
        return _page(request)
    try:
        found = item_of(request.user, asked)  # type: ignore[arg-type]
    except NothingThere as why:
        messages.error(request, str(why))
        return redirect(_address(request.GET.urlencode()))
    return _page(request, piece(found.state, timezone.now()))


def bench_act(request: HttpRequest, tag: str, name: str) -> HttpResponse:
    """Do what a form at the bench asks for, and come back to the bench."""
    if name not in HERE:
        raise Http404
    try:
        found = piece(item_of(request.user, tag).state, timezone.now())  # type: ignore[arg-type]
    except NothingThere as why:
        return nothing_there(request, why)
    keep = request.POST.get("keep", "")
    if request.method != "POST":
        return redirect(_address(keep, piece=found.row.tag))
    try:
        form, outcome = sent(request, found, name)
    except Bygone as why:
        messages.error(request, str(why))
        return redirect(_address(keep, piece=found.row.tag))
    if outcome is None:
        return _page(request, found, form, status=400)
    unfinished = any(fault.mended_at is None for fault in outcome.state.faults)
    gone = outcome.state.place == "gone"
    return redirect(_address(keep, piece=outcome.state.tag if unfinished and not gone else ""))


def _scanned(request: HttpRequest) -> HttpResponse:
    form = ScanForm(request.POST)
    if not form.is_valid():
        messages.error(request, " ".join(error for errors in form.errors.values() for error in errors))
        return redirect(_address(request.POST.get("keep", "")))
    said: dict[str, Any] = form.cleaned_data
    after = take(Scan(request, said["code"], said["scan"], said["piece"], timezone.now()))
    return redirect(_address(said["keep"], scan=after.scan, piece=after.piece, fault=after.fault))


def _address(keep: str, **changed: str) -> str:
    """The bench, narrowed as before; with a piece open the page begins there."""
    query = kept(keep, **changed)
    place = "#piece" if changed.get("piece") else ""
    return f"{reverse('bench')}?{query}{place}" if query else reverse("bench")


def _page(
    request: HttpRequest, shown: Piece | None = None, bound: NoteForm | None = None, status: int = 200
) -> HttpResponse:
    at = timezone.now()
    keep = kept(request.POST.get("keep", "") if request.method == "POST" else request.GET.urlencode())
    asked = QueryDict(keep)
    form = NarrowForm(asked, request.user)  # type: ignore[arg-type]
    narrowed = form.narrowed()
    mode = GOOD if asked.get("scan") == GOOD else OPEN
    context = {
        "form": form,
        "bench": lists.read(narrowed, at),
        "done": of_bench.done(narrowed.store, bounds(timezone.localdate(at))[0]),
        "scan": ScanForm(
            initial={"scan": mode, "piece": shown.row.tag if shown else "", "keep": keep}, auto_id="scan_%s"
        ),
        "mode": mode,
        "keep": keep,
        "narrowed": bool(narrowed.kind),
        "plan_page": link(request.user, "evening_plan"),  # type: ignore[arg-type]
        "slips": link(request.user, "do_not_use_pdf", query=kept(keep)),  # type: ignore[arg-type]
        "all_good": next(tag for tag in COUNTER_TAGS.values() if tag.name == "all_good"),
        "shown": _shown(request, shown, bound) if shown else None,
    }
    return render(request, "bench.html", context, status=status)


def _shown(request: HttpRequest, shown: Piece, bound: NoteForm | None) -> dict[str, Any]:
    """The piece that lies open, with what may be done with it here."""
    user, state = request.user, shown.row
    offered = [offer for offer in offers(user, shown, bound) if offer.act.name in HERE]  # type: ignore[arg-type]
    found = condition.told(shown, user, offered)  # type: ignore[arg-type]
    first = request.GET.get("fault") or next((each.code for each in found.faults if not each.waits), "")
    return {
        "state": state,
        "where": places.where(state),
        "condition": found,
        "first": first if bound is None else "",
        "offers": [offer for offer in offered if not offer.about],
        "to_inspect": [each for each in found.inspections if each.due],
        "slip": link(user, "do_not_use_pdf", query=f"tags={state.tag}"),  # type: ignore[arg-type]
    }
