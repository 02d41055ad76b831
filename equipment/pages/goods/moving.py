"""A lot comes in; something is taken of one: given to a crew, or used."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from equipment.actions import goods as acting
from equipment.actions.amounts import amount
from equipment.actions.wording import filled, refusal
from equipment.actions.writing import Pen
from equipment.domain import chain
from equipment.ledger import Outcome
from equipment.models import Entry, Goods, LotState, shelf
from equipment.pages.goods import saying
from equipment.pages.goods.cautions import cautions
from equipment.pages.goods.forms import GIVEN, ReceiveForm, TakeForm, ways
from equipment.pages.keys import uuid_in
from equipment.pages.wash import here


def goods_receive(request: HttpRequest) -> HttpResponse:
    store = here.store_of(request)
    begun = {"goods": request.GET.get("goods", "")}
    form = ReceiveForm(request.POST or None, timezone.localdate(), initial=begun)
    if form.is_valid() and _received(request, store.pk, form):
        return _back(store.pk, form.cleaned_data["goods"])
    chosen = Goods.objects.filter(pk=form["goods"].value() or "").first()
    context = {
        "store": store,
        "form": form,
        "cautions": cautions(chosen) if chosen else [],
        "any": Goods.objects.exists(),
    }
    return render(request, "goods_receive.html", context, status=400 if form.is_bound else 200)


def _received(request: HttpRequest, store: str, form: ReceiveForm) -> bool:
    """Whether it is in the book now; where it is not, the form says why."""
    said, own = form.cleaned_data, form.cleaned_data["own"]
    named = ("quantity", "lot_number", "expires_on", "supplier")
    coming = acting.Coming(said["goods"].pk, *(said[name] for name in named))
    before = Entry.objects.filter(lot=own, verb="received").first()
    if before is not None and before.detail != chain.plain(coming.detail):
        form.is_another(before)
        return False
    if before is None:
        pen = Pen(request.user, store, timezone.now())  # type: ignore[arg-type]
        acting.receive(pen, coming, own, said["note"])
    words = {"goods": said["goods"], "quantity": amount(said["quantity"], said["goods"].unit)}
    messages.success(request, _("Received: %(goods)s, %(quantity)s.") % words)
    return True


def goods_take(request: HttpRequest, code: str) -> HttpResponse:
    """Lots past their date are not offered; where one is asked for all the same, the book says why not."""
    store, day = here.store_of(request), timezone.localdate()
    goods = get_object_or_404(Goods, pk=code)
    if not ways(request.user):  # type: ignore[arg-type]
        raise PermissionDenied
    before = _before(request, goods)
    lots = shelf.to_take(store.pk, day, goods=goods)
    if before and before.lot not in {lot.pk for lot in lots}:  # what it took was the last of it
        lots += LotState.objects.filter(pk=before.lot)
    form = TakeForm(request.POST or None, request.user, goods, lots)  # type: ignore[arg-type]
    if request.GET.get("lot") in form.lots:
        form.initial["lot"] = request.GET["lot"]
    if form.is_valid():
        row = form.lots[form.cleaned_data["lot"]]
        if before and not _same(before, row, form.cleaned_data):
            form.is_another(before)
        else:
            outcome = None if before else _taken(request, store.pk, row, form.cleaned_data)
            if outcome is None or outcome.recorded:
                _tell(request, row, outcome)
                return _back(store.pk, goods)
            form.add_error("quantity", " ".join(refusal(each, {}) for each in outcome.codes))
    old = LotState.objects.there().filter(store=store, goods=goods, expires_on__lt=day).first_to_expire()
    context: dict[str, Any] = {
        "store": store,
        "goods": goods,
        "form": form,
        "lots": bool(form.lots),
        "past": [saying.lot(each, goods, day) for each in old],
        "cautions": cautions(goods),
    }
    return render(request, "goods_take.html", context, status=400 if form.is_bound else 200)


def _before(request: HttpRequest, goods: Goods) -> Entry | None:
    """What this page has written already of these goods."""
    own = uuid_in(request.POST.get("own"))
    lots = LotState.objects.filter(goods=goods).values("pk")
    return Entry.objects.filter(pk=own, lot__in=lots).first() if own else None


def _same(before: Entry, row: LotState, said: dict[str, Any]) -> bool:
    given = said["what"] == GIVEN
    what = ("given", said["crew"].pk, None) if given else ("used", None, said["what"])
    was = (before.verb, before.crew_id, before.detail.get("purpose"))
    return was == what and (before.lot, float(before.detail["quantity"])) == (row.pk, said["quantity"])


def _taken(request: HttpRequest, store: str, row: LotState, said: dict[str, Any]) -> Outcome | None:
    """None where the same page, sent at the same moment, has written it."""
    pen = Pen(request.user, store, timezone.now())  # type: ignore[arg-type]
    fields: dict[str, Any] = {"id": said["own"], "note": said["note"]}
    try:
        if said["what"] == GIVEN:
            return acting.take(pen, "given", row, said["quantity"], crew=said["crew"].pk, **fields)
        return acting.take(pen, "used", row, said["quantity"], purpose=said["what"], **fields)
    except IntegrityError:
        return None


def _tell(request: HttpRequest, row: LotState, outcome: Outcome | None) -> None:
    if outcome is None:
        messages.info(request, _("Already in the book."))
        return
    words = {"lot": saying.named_choice(row), "left": amount(outcome.state.left, saying.unit(row))}
    words["lot"] = f"{row.goods}, {saying.lot_number(row)}"
    messages.success(request, filled(_("Written down. %(lot)s: %(left)s left."), words))


def _back(store: str, goods: Goods) -> HttpResponse:
    return redirect(here.at_store(reverse("goods"), store) + f"#goods-{goods.pk}")
