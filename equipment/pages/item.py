"""The page of one item: what it is, where it is, what can be done with it, and its whole life."""

from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from crews.models import Store
from equipment.actions.undo import last_line
from equipment.actions.wording import NotDone, filled, refusal
from equipment.domain.verbs import VERBS
from equipment.ledger import Outcome
from equipment.models import Discrepancy, Entry, ItemState
from equipment.pages import places
from equipment.pages.item_acts import ACTS, ItemAct, makes_sense, may
from equipment.pages.item_forms import NoteForm
from equipment.pages.landing import Found, NothingThere, item_of, nothing_there
from equipment.pages.life import life
from equipment.pages.links import link
from equipment.pages.telling import Teller, with_names


@dataclass(frozen=True)
class Offer:
    """Something that can be done here: the act, its form, and the question that comes before it."""

    act: ItemAct
    form: NoteForm
    ask: str
    about: str = ""


def item(request: HttpRequest, tag: str) -> HttpResponse:
    try:
        found = item_of(request.user, tag)
    except NothingThere as why:
        return nothing_there(request, why)
    return _page(request, found)


def item_act(request: HttpRequest, tag: str, name: str) -> HttpResponse:
    """Do it, and say in words what became of it."""
    if (act := ACTS.get(name)) is None:
        raise Http404
    try:
        found = item_of(request.user, tag)
    except NothingThere as why:
        return nothing_there(request, why)
    if request.method != "POST":
        return redirect("item", found.state.tag)
    if not may(request.user, act, found.state):
        raise PermissionDenied
    form = act.form(request.POST, act.name, request.user, found.state)
    if form.is_valid() and (done := _do(act, form, found.state)):
        tag = done.state.tag
        messages.success(request, filled(VERBS[act.verb].say, {"tag": tag}))
        return _back(request, tag)
    return _page(request, found, bound=form, status=400)


def _do(act: ItemAct, form: NoteForm, state: ItemState) -> Outcome | None:
    """What was recorded; None where nothing was, and the form says why."""
    try:
        outcome = act.do(form.user, state, form.cleaned_data)
    except NotDone as why:
        form.add_error(None, str(why))
        return None
    if outcome.recorded:
        return outcome
    params = {
        "tag": state.tag,
        "store": state.store_id,
        "who": places.holder(state.picker, state.crew) or None,
    }
    form.add_error(None, " ".join(refusal(code, params) for code in outcome.codes))
    return None


def _back(request: HttpRequest, tag: str) -> HttpResponse:
    """To the item; to the list where it is out of this person's sight now."""
    try:
        item_of(request.user, tag)
    except NothingThere:
        return redirect("gear")
    return redirect("item", tag)


def _page(
    request: HttpRequest, found: Found, bound: NoteForm | None = None, status: int = 200
) -> HttpResponse:
    state = found.state
    open_ones = list(Discrepancy.objects.filter(item=state.item_id, settled=False))
    context = {
        "found": found,
        "state": state,
        "facts": _facts(request, state),
        "where": places.where(state),
        "stays": places.stays(state),
        "age": places.age(state.since, timezone.localdate()),
        "old_labels": sorted(state.item.labels.exclude(pk=state.tag).values_list("pk", flat=True)),
        "holders": _holders(request, state),
        "packed_with": _packed_with(state),
        "discrepancies": _contradictions(open_ones),
        "life": life(state.item_id, request.GET.get("before", ""), {each.entry_id for each in open_ones}),
        "offers": _offers(request, state, bound),
        "set_url": link(request.user, "set", state.packed_in_id) if state.packed_in_id else "",
        "reprint": link(request.user, "labels", query=f"tags={state.tag}"),
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


def _offers(request: HttpRequest, state: ItemState, bound: NoteForm | None) -> list[Offer]:
    offers = []
    for act in ACTS.values():
        refilled = bound is not None and bound.auto_id == f"{act.name}_%s"
        if not refilled and not (makes_sense(act, state) and may(request.user, act, state)):
            continue
        if act.name == "move" and Store.objects.count() < 2:
            continue
        form = bound if refilled and bound else act.form(None, act.name, request.user, state)
        offers.append(_offer(act, form, state))
    return offers


def _offer(act: ItemAct, form: NoteForm, state: ItemState) -> Offer:
    what = ""
    if act.name == "undo" and (last := last_line(state.item_id)):
        what = Teller([last]).tell(last)
        form.initial["entry"] = last.pk
    return Offer(act, form, str(act.ask) % {"tag": state.tag, "what": what} if act.ask else "", what)
