"""What lies in a store, and one lot with its lines: throw some of it away, strike a line."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from crews import policy
from crews.models import User
from equipment.actions import goods as acting
from equipment.actions.wording import NotDone, refusal
from equipment.actions.writing import Pen
from equipment.domain.verbs import VERBS
from equipment.models import Entry, Goods, LotState, shelf
from equipment.pages.goods import saying
from equipment.pages.goods.cautions import cautions
from equipment.pages.goods.forms import DiscardForm, ways
from equipment.pages.keys import uuid_in
from equipment.pages.life import name
from equipment.pages.links import link
from equipment.pages.telling import ICONS, Teller, with_names
from equipment.pages.wash import here

MOST_LINES = 200


@require_GET
def goods(request: HttpRequest) -> HttpResponse:
    store, day = here.store_of(request), timezone.localdate()
    user: User = request.user  # type: ignore[assignment]
    found = shelf.shelf(store.pk, day)
    query = request.GET.get("q", "").strip()[:60]
    shown = [saying.held(each) for each in found if query.lower() in str(each.goods).lower()]
    context = {
        "store": store,
        "others": here.others(user, store),
        "q": query,
        "any": bool(found),
        "groups": _groups(shown),
        "lacking": [each for each in shown if each["low"]],
        "past": [each for each in shown if each["past"]],
        "takes": bool(ways(user)),
        "receive_url": link(user, "goods_receive", query=f"store={store.pk}"),
        "count_url": link(user, "goods_count", query=f"store={store.pk}"),
        "kinds_url": link(user, "goods_kinds"),
    }
    return render(request, "goods.html", context)


def _groups(shown: list[dict[str, Any]]) -> list[tuple[str, list[dict[str, Any]]]]:
    """By what they are used for, in the order of the choices."""
    return [
        (label, found)
        for code, label in Goods.Used.choices
        if (found := [each for each in shown if each["goods"].used_for == code])
    ]


@require_GET
def goods_lot(request: HttpRequest, lot: UUID) -> HttpResponse:
    return _page(request, lot_of(request, lot))


@require_POST
def goods_discard(request: HttpRequest, lot: UUID) -> HttpResponse:
    row = lot_of(request, lot)
    own = uuid_in(request.POST.get("own"))
    if own and Entry.objects.filter(pk=own, lot=lot).exists():
        messages.info(
            request, _("That is in the book already, and is not written twice: see the lines below.")
        )
        return redirect("goods_lot", lot)
    form = DiscardForm(request.POST, row)
    if not form.is_valid():
        return _page(request, row, form, status=400)
    said, fields = form.cleaned_data, {"id": form.cleaned_data["own"], "note": form.cleaned_data["why"]}
    try:
        outcome = acting.take(pen_of(request, row), "discarded", row, said["quantity"], **fields)
    except IntegrityError:  # the same page, sent at the same moment
        return _already(request, lot)
    if outcome.recorded:
        messages.success(request, _("Thrown away, and written down."))
    else:
        messages.error(request, " ".join(refusal(code, {}) for code in outcome.codes))
    return redirect("goods_lot", lot)


def _written(request: HttpRequest, lot: UUID) -> bool:
    own = uuid_in(request.POST.get("own"))
    return own is not None and Entry.objects.filter(pk=own, lot=lot).exists()


def _already(request: HttpRequest, lot: UUID) -> HttpResponse:
    messages.info(request, _("This page was sent before: its line is in the book, and is not written twice."))
    return redirect("goods_lot", lot)


@require_POST
def goods_strike(request: HttpRequest, lot: UUID) -> HttpResponse:
    """A line of the lot is taken back, by whoever might have written it."""
    row = lot_of(request, lot)
    entry = get_object_or_404(Entry, pk=uuid_in(request.POST.get("entry")), lot=lot)
    if not _may_strike(request.user, entry):  # type: ignore[arg-type]
        raise PermissionDenied
    try:
        outcome = acting.strike(pen_of(request, row), row, entry.pk)
    except NotDone as why:
        messages.error(request, str(why))
        return redirect("goods_lot", lot)
    if outcome.recorded:
        messages.success(request, _("The line is struck. It stays in the book, and counts no more."))
    elif "more_than_left" in outcome.codes:
        messages.error(
            request,
            _("Without that line, more was taken of the lot than there was. Strike those lines first."),
        )
    else:
        messages.error(request, " ".join(refusal(code, {}) for code in outcome.codes))
    if outcome.recorded and not LotState.objects.filter(pk=lot, goods__isnull=False).exists():
        return redirect(here.at_store(reverse("goods"), str(row.store_id)))
    return redirect("goods_lot", lot)


def _may_strike(user: User, entry: Entry) -> bool:
    """A supervisor, who uses what a store has, strikes what they wrote themselves."""
    action = VERBS[entry.verb].action
    own = entry.by_id == user.pk or not policy.only_own_crews(user, policy.ACTIONS.get(action, ()))
    return own and policy.may_act(user, "reverse") and policy.may_act(user, action)


def lot_of(request: HttpRequest, own: UUID) -> LotState:
    """Raises Http404 for a lot that was never received, and for that of a store which is none of theirs."""
    rows = LotState.objects.filter(goods__isnull=False, store__in=here.stores(request.user))  # type: ignore[arg-type]
    return get_object_or_404(rows.select_related("goods", "store"), pk=own)


def pen_of(request: HttpRequest, row: LotState) -> Pen:
    """Writes in the book of the store where the lot lies."""
    return Pen(request.user, str(row.store_id), timezone.now())  # type: ignore[arg-type]


def _page(
    request: HttpRequest, row: LotState, discarding: DiscardForm | None = None, status: int = 200
) -> HttpResponse:
    user: User = request.user  # type: ignore[assignment]
    entries = list(
        with_names(Entry.objects.filter(lot=row.pk, item=None, bath=None)).order_by("-happened_at", "-id")[
            :MOST_LINES
        ]
    )
    may_discard = policy.may_open(user, "goods_discard", "POST") and row.left > 0
    context = {
        "row": row,
        "goods": row.goods,
        "store": row.store,
        "lot": saying.lot(row, row.goods, timezone.localdate()),
        "lines": _lines(entries, user),
        "supplier": next((e.detail.get("supplier", "") for e in entries if e.verb == "received"), ""),
        "cautions": cautions(row.goods),
        "discard": (discarding or DiscardForm(None, row)) if may_discard else None,
        "take_url": link(user, "goods_take", row.goods.pk, query=f"store={row.store_id}&lot={row.pk}"),
        "count_url": link(
            user, "goods_count", query=f"store={row.store_id}{'' if row.left else '&used_up=1'}"
        ),
    }
    return render(request, "goods_lot.html", context, status=status)


def _lines(entries: list[Entry], user: User) -> list[dict[str, Any]]:
    """The lines for `_partials/goods_lines.html`, the newest first."""
    teller = Teller(entries)
    undone = {UUID(entry.detail["entry"]): entry for entry in entries if entry.verb == "reversed"}
    return [
        {
            "pk": entry.pk,
            "at": entry.happened_at,
            "say": teller.tell(entry),
            "icon": "bath" if entry.detail.get("purpose") == "bath" else ICONS[entry.verb],
            "by": name(entry.by),
            "note": str(getattr(entry, "written_note", "")),
            "struck": entry.pk in undone,
            "struck_by": _struck(undone[entry.pk]) if entry.pk in undone else "",
            "may_strike": entry.pk not in undone
            and entry.verb not in ("reversed", "settled")
            and _may_strike(user, entry),
        }
        for entry in entries
    ]


def _struck(undone: Entry) -> str:
    at = date_format(timezone.localtime(undone.happened_at), _("j F H:i"))
    return _("taken back %(at)s by %(by)s") % {"at": at, "by": name(undone.by)}
