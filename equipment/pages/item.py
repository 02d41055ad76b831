"""The page of one item: what it is, where it is, its condition, what can be done with it, and its whole life."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from equipment.models import Discrepancy, Entry, ItemState
from equipment.pages import condition, places
from equipment.pages.item_acts import ACTS
from equipment.pages.item_forms import NoteForm
from equipment.pages.landing import Found, NothingThere, item_of, nothing_there
from equipment.pages.life import life
from equipment.pages.links import link, register
from equipment.pages.offers import Bygone, offers, sent
from equipment.pages.piece import Piece, piece
from equipment.pages.registering import MATERIALS
from equipment.pages.telling import Teller, with_names


def item(request: HttpRequest, tag: str) -> HttpResponse:
    try:
        found = item_of(request.user, tag)
    except NothingThere as why:
        return nothing_there(request, why)
    return _page(request, found, piece(found.state, timezone.now()))


def item_act(request: HttpRequest, tag: str, name: str) -> HttpResponse:
    """Do it, and say in words what became of it."""
    if name not in ACTS:
        raise Http404
    try:
        found = item_of(request.user, tag)
    except NothingThere as why:
        return nothing_there(request, why)
    if request.method != "POST":
        return redirect("item", found.state.tag)
    asked = piece(found.state, timezone.now())
    try:
        form, outcome = sent(request, asked, name)
    except Bygone as why:
        messages.error(request, str(why))
        return redirect("item", found.state.tag)
    if outcome is not None:
        return _back(request, outcome.state.tag)
    return _page(request, found, asked, bound=form, status=400)


def _back(request: HttpRequest, tag: str) -> HttpResponse:
    """To the item; to the list where it is out of this person's sight now."""
    try:
        item_of(request.user, tag)
    except NothingThere:
        return redirect("gear")
    return redirect("item", tag)


def _page(
    request: HttpRequest, found: Found, shown: Piece, bound: NoteForm | None = None, status: int = 200
) -> HttpResponse:
    state = found.state
    open_ones = list(Discrepancy.objects.filter(item=state.item_id, settled=False))
    offered = offers(request.user, shown, bound)
    context = {
        "found": found,
        "state": state,
        "facts": _facts(request, state),
        "where": places.where(state),
        "condition": condition.told(shown, request.user, offered),
        "age": places.age(state.since, timezone.localdate()),
        "old_labels": sorted(state.item.labels.exclude(pk=state.tag).values_list("pk", flat=True)),
        "holders": _holders(request, state),
        "packed_with": _packed_with(state),
        "discrepancies": _contradictions(open_ones),
        "settle_url": link(request.user, "settle", query=f"list=open&kind={state.item.kind_id}"),
        "life": life(state.item_id, request.GET.get("before", ""), {each.entry_id for each in open_ones}),
        "offers": [offer for offer in offered if not offer.about],
        "set_url": link(request.user, "set", state.packed_in_id) if state.packed_in_id else "",
        "reprint": link(request.user, "labels", query=f"tags={state.tag}"),
        "slip": link(request.user, "do_not_use_pdf", query=f"tags={state.tag}"),
        "on_paper": register(request.user, "item-life", f"tag={state.tag}"),
    }
    return render(request, "item.html", context, status=status)


def _facts(request: HttpRequest, state: ItemState) -> list[tuple[str, Any]]:
    """What the item is, in pairs of name and value, without the empty ones."""
    item = state.item
    pairs = [
        (_("Kind"), item.kind),
        (_("Make"), item.make),
        (_("Size"), item.size),
        (_("Hand"), {"left": _("left"), "right": _("right")}.get(item.hand)),
        (_("Owner"), item.owner),
        (_("Price"), item.price),
        (_("Supplier"), item.supplier),
        (_("Delivery"), item.delivery),
        (_("Bought on"), item.bought_on),
        (_("Comes back"), item.kind.get_comes_back_display()),
        (_("Material"), MATERIALS.get(item.material, item.material)),
        (_("Legs"), item.legs),
        (_("Length"), _("%(m)s m") % {"m": item.length_m} if item.length_m else None),
        (_("Duty rating"), _("%(kg)s kg") % {"kg": item.rating_kg} if item.rating_kg else None),
    ]
    return [(name, value) for name, value in pairs if value not in (None, "")]


def _holders(request: HttpRequest, state: ItemState) -> list[tuple[str, str]]:
    """Who has it, or had it last, each with the address of their page ("" where there is none for this person)."""
    holders = []
    if state.picker:
        holders.append((state.picker.name, link(request.user, "picker", state.picker.pk)))
    if state.crew:
        holders.append((state.crew.name, link(request.user, "crew", state.crew.pk)))
    return holders


def _packed_with(state: ItemState) -> int:
    """How many other pieces the set holds."""
    if not state.packed_in_id:
        return 0
    return ItemState.objects.filter(packed_in=state.packed_in_id).exclude(pk=state.pk).count()


def _contradictions(found: list[Discrepancy]) -> list[str]:
    if not found:
        return []
    teller = Teller(with_names(Entry.objects.filter(pk__in=[each.entry_id for each in found])))
    return [teller.contradicts(each) for each in found]
