"""What a stocktake found: each surprise and each piece that nobody saw, with what can be done about it."""

from collections.abc import Callable, Iterable
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from crews.models import Store
from equipment.actions.stocktake import settle, unknown
from equipment.actions.stocktake.begin import pen
from equipment.actions.stocktake.correct import Said
from equipment.actions.stocktake.unknown import Told
from equipment.actions.wording import NotDone
from equipment.domain.stocktake import MISSED
from equipment.domain.verbs.written_off import CIRCUMSTANCES
from equipment.models import Kind, Stocktake, stocktaking
from equipment.models.stocktaking import Count, Line
from equipment.pages.keys import uuid_in
from equipment.pages.stocktake import words
from equipment.pages.stocktake.counting import one
from equipment.pages.stocktake.forms import LISTS, OF_LIST, EndForm, NarrowForm, SaidForm
from equipment.pages.stocktake.lists import labels, lines

SHOWN = 25


@require_GET
def stocktake_settle(request: HttpRequest, pk: UUID) -> HttpResponse:
    own = Stocktake.objects.select_related("store", "begun_by", "ended_by").get(pk=one(pk).pk)
    found = stocktaking.count(own)
    which = request.GET.get("list", "")
    if which not in LISTS:
        which = _first(found)
    context = {
        "own": own,
        "which": which,
        "sums": found.sums,
        "counted": words.counted(own),
        "total": words.progress(found),
        "end": EndForm() if own.ended_at is None else None,
        "circumstances": [(code, _(name)) for code, name in CIRCUMSTANCES.items()],
        "stores": Store.objects.exclude(pk=own.store_id),
        "kinds": Kind.objects.all(),
        "may_miss": which == "left" and own.ended_at is None and settle.may(MISSED, request.user),  # type: ignore[arg-type]
        "back": request.get_full_path(),
        **_listed(request, own, found, which),
    }
    return render(request, "stocktake_settle.html", context)


def _first(found: Count) -> str:
    """The list that the page opens with: what still asks for a person, else what was done."""
    if found.sums["surprises"]:
        return "surprises"
    return "left" if found.sums["left"] else "settled"


def _listed(request: HttpRequest, own: Stocktake, found: Count, which: str) -> dict[str, Any]:
    """The first so many of the list; search finds the others."""
    every = found.having(*OF_LIST[which])
    form = NarrowForm(request.GET, {line.kind for line in every})
    wanted = sorted(_narrowed(every, form.asked), key=lambda line: (line.kind, line.tag))
    after = request.GET.get("after", "")
    rest = [line for line in wanted if f"{line.kind} {line.tag}" > after] if after else wanted
    page = rest[:SHOWN]
    query = request.GET.copy()
    query["after"] = f"{page[-1].kind} {page[-1].tag}" if page else ""
    tags = [each for each in found.unknown if bool(each.choice) == (which == "settled")]
    show_tags = which in ("surprises", "settled") and not form.asked and not after
    return {
        "form": form,
        "narrowed": bool(form.asked),
        "lines": lines(own, page, request.user),
        "labels": labels(own, tags, request.user) if show_tags else [],
        "count": len(wanted),
        "next_url": f"?{query.urlencode()}" if len(rest) > SHOWN else None,
        "first_url": f"?list={which}" if after else None,
    }


def _narrowed(every: Iterable[Line], asked: dict[str, Any]) -> list[Line]:
    part, kind = asked.get("q", "").strip().upper(), asked.get("kind")
    return [line for line in every if part in line.tag and (kind is None or line.kind == kind.pk)]


@require_POST
def stocktake_piece(request: HttpRequest, pk: UUID, item: UUID) -> HttpResponse:
    """One choice for one piece."""
    own, said, now = one(pk), _said(request), timezone.now()
    chosen = Said(*(said[name] for name in ("who", "to", "circumstance", "note")))
    name = request.POST.get("choice", "")
    write = pen(own, request.user, now)  # type: ignore[arg-type]
    return _do(
        request,
        own,
        lambda: settle.settle(own, write, item, name, chosen),
        _("Settled, and written in the book."),
    )


@require_POST
def stocktake_missing(request: HttpRequest, pk: UUID) -> HttpResponse:
    """All of the pieces that the page showed and nobody has seen since."""
    own = one(pk)
    items = filter(None, map(uuid_in, request.POST.getlist("item")[:SHOWN]))
    write = pen(own, request.user, timezone.now())  # type: ignore[arg-type]
    return _do(
        request,
        own,
        lambda: settle.all_missing(own, write, items),
        _("Marked missing, and written in the book."),
    )


@require_POST
def stocktake_again(request: HttpRequest, pk: UUID, item: UUID) -> HttpResponse:
    own = one(pk)
    write = pen(own, request.user, timezone.now())  # type: ignore[arg-type]
    return _do(request, own, lambda: settle.open_again(own, write, item), _("It is open again."))


@require_POST
def stocktake_label(request: HttpRequest, pk: UUID, label: UUID) -> HttpResponse:
    """One choice for a label that the book does not know."""
    own, said, now = one(pk), _said(request), timezone.now()
    name, told = request.POST.get("choice", ""), Told(said["kind"], said["tag"])
    write = pen(own, request.user, now)  # type: ignore[arg-type]
    return _do(request, own, lambda: unknown.settle(own, write, label, name, told), _("Settled."))


@require_POST
def stocktake_label_again(request: HttpRequest, pk: UUID, label: UUID) -> HttpResponse:
    own = one(pk)
    write = pen(own, request.user, timezone.now())  # type: ignore[arg-type]
    return _do(request, own, lambda: unknown.open_again(own, write, label), _("It is open again."))


def _said(request: HttpRequest) -> dict[str, str]:
    form = SaidForm(request.POST)
    form.is_valid()
    return {name: form.cleaned_data.get(name, "") for name in form.fields}


def _do(request: HttpRequest, own: Stocktake, act: Callable[[], Any], done: str) -> HttpResponse:
    try:
        act()
    except NotDone as why:
        messages.error(request, str(why))
    else:
        messages.success(request, done)
    page = reverse("stocktake_settle", args=[own.pk])
    back = request.POST.get("back", "")
    return redirect(back if back == page or back.startswith(f"{page}?") else page)
