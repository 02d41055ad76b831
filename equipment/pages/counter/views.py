"""The counter's page and what its script asks for. What is scanned goes to the book through `/api/entries/`."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.csrf import ensure_csrf_cookie
from django.views.decorators.http import require_GET, require_POST

from crews.models import Badge, Picker
from equipment.actions.lend_badge import CardNotFree, lend_day_card
from equipment.actions.new_picker import new_picker
from equipment.actions.writing import Pen
from equipment.domain.counter_tags import COUNTER_TAGS
from equipment.models import ItemState, Kind
from equipment.models.mornings import morning
from equipment.models.reading import crews
from equipment.pages.counter import holders
from equipment.pages.counter.forms import KnownCounterForm, LetGoForm, NewCounterForm, NewPickerForm
from equipment.pages.counter.here import counter_of, counters, remember
from equipment.pages.counter.script import for_script
from equipment.pages.counter.sheet import sheet


@ensure_csrf_cookie
@require_GET
def counter(request: HttpRequest) -> HttpResponse:
    here = counter_of(request)
    if here is None:
        return redirect("counter_here")
    context = {
        "here": here,
        "form": NewPickerForm(),
        "let_go": LetGoForm(),
        "tags": [{"name": tag.name, "key": tag.key, "words": _(tag.words)} for tag in COUNTER_TAGS.values()],
        "script": for_script(request.user, here),
    }
    return render(request, "counter.html", context)


def counter_here(request: HttpRequest) -> HttpResponse:
    """Which counter is this? Asked once for each browser, and again by who wants to change it."""
    known, store = counter_of(request), request.user.store_id  # type: ignore[union-attr]
    asked = request.POST if request.method == "POST" else None
    old = KnownCounterForm(asked if asked and "counter" in asked else None, initial={"counter": known})
    new = NewCounterForm(
        asked if asked is not None and "counter" not in asked else None, initial={"store": store}
    )
    form = old if old.is_bound else new
    if form.is_bound and form.is_valid():
        response = redirect("counter")
        remember(response, form.device(), secure=settings.HTTPS)
        return response
    context = {"old": old, "new": new, "any": counters().exists()}
    return render(request, "counter_here.html", context, status=400 if form.is_bound else 200)


@require_GET
def kit(request: HttpRequest, code: str) -> JsonResponse:
    """The kit of whoever has the badge or crew tag; `last` names who stood there before."""
    day, last = timezone.localdate(), request.GET.get("last", "")
    found = holders.by_codes([code, last], day)
    holder, before = found.get(code), found.get(last)
    kits, kinds = holders.kits_of(found.values(), day), Kind.objects.in_bulk()
    answer = (
        holders.kit_answer(holder, kits[code], kinds, timezone.now())
        if holder
        else holders.no_holder(code, day)
    )
    left = holders.left_behind(before, kits[last], kinds) if before else None
    return JsonResponse({**answer, "last": left})


@require_GET
def owes(request: HttpRequest, code: str) -> JsonResponse:
    """What the holder of a badge, a crew tag, or (the last holder of) an item still owes tonight."""
    day = timezone.localdate()
    holder = holders.by_codes([code], day).get(code) or holders.by_item(code, day)
    return JsonResponse(holders.owed_answer(holder) if holder else {"code": "nobody"})


@require_GET
def pieces(request: HttpRequest, code: str) -> JsonResponse:
    """What is packed in a set, in the order of its kinds."""
    states = ItemState.objects.filter(packed_in=code).order_by("item__kind__position", "tag")
    return JsonResponse({"pieces": list(states.values_list("tag", flat=True))})


@require_GET
def offline_sheet(request: HttpRequest) -> JsonResponse:
    return JsonResponse(sheet(timezone.localdate()), headers={"Cache-Control": "no-store"})


@require_POST
def day_card(request: HttpRequest) -> JsonResponse:
    """Lend a blank day card (`badge`) to a picker (`picker`, the id) for today."""
    picker = get_object_or_404(Picker, pk=_number(request.POST.get("picker", "")))
    badge = Badge.objects.filter(pk=request.POST.get("badge", "")).first()
    if badge is None:
        return JsonResponse({"code": "unknown_card"})
    try:
        lend_day_card(badge, picker, timezone.localdate())
    except CardNotFree as why:
        return JsonResponse({"code": "card_not_free", "say": str(why)})
    return JsonResponse({"badge": badge.pk, "who": picker.name})


@require_POST
def add_picker(request: HttpRequest) -> JsonResponse:
    """Someone new: `name` and `crew`, no more."""
    here = counter_of(request)
    form = NewPickerForm(request.POST)
    if here is None or not form.is_valid():
        return JsonResponse(
            {"code": "not_added", "say": " ".join(e for errors in form.errors.values() for e in errors)}
        )
    pen = Pen(request.user, str(here.store_id), timezone.now())  # type: ignore[arg-type]
    picker = new_picker(pen, form.cleaned_data["name"], form.cleaned_data["crew"])
    return JsonResponse({"picker": picker.pk, "who": picker.name, "number": picker.number})


@require_GET
def crew_morning(request: HttpRequest, code: str, template: str = "counter_crew.html") -> HttpResponse:
    """Who of a crew is served, still to come, absent; a supervisor sees their own crews."""
    crew = get_object_or_404(crews(request.user).select_related("store"), pk=code)  # type: ignore[arg-type]
    context: dict[str, Any] = {"morning": morning(crew, timezone.localdate(), timezone.now())}
    return render(request, template, context)


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else -1
