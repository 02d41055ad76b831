"""The wash place of a store: what is due there, and the baths that stand."""

from datetime import datetime, timedelta
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from crews import policy
from crews.models import Store
from equipment.actions.follow_rules import catch_up
from equipment.models import Rule, planning, washing
from equipment.pages.wash import here, saying


@require_GET
def wash(request: HttpRequest) -> HttpResponse:
    if not here.stores(request.user).exists():  # type: ignore[arg-type]
        return render(request, "wash.html", {"store": None})
    store, at = here.store_of(request), timezone.now()
    catch_up(at)
    context = {
        "store": store,
        "others": here.others(request.user, store),  # type: ignore[arg-type]
        "may_mix": policy.may_open(request.user, "wash_mix", "POST"),
        "may_clean": policy.may_act(request.user, "clean"),
        **_baths(store, at),
        **_due(store, at),
    }
    return render(request, "wash.html", context)


@require_GET
def wash_lines(request: HttpRequest) -> HttpResponse:
    """What the page refreshes itself with: the baths, or with `part=due` what is due."""
    store, at = here.store_of(request), timezone.now()
    if request.GET.get("part") == "due":
        return render(request, "_partials/wash_due.html", _due(store, at))
    return render(request, "_partials/wash_baths.html", _baths(store, at))


def _baths(store: Store, at: datetime) -> dict[str, Any]:
    return {"baths": [saying.bath(each, at) for each in washing.standing(store.pk, at)]}


def _due(store: Store, at: datetime) -> dict[str, Any]:
    until = first_light(at)
    due = saying.by_method(washing.due_in(store.pk, until), at, _plan(store, at))
    return {"until": until, "due": due, "ruled": Rule.objects.exists()}


def _plan(store: Store, at: datetime) -> list[saying.Planned]:
    """What the evening's plan chose for the next day of picking, in its order."""
    day = planning.next_day(at)
    tasks = planning.evening(day, at, store.pk).tasks if day else {}
    return [(tag, step.what) for tag, task in tasks.items() for step in task.piece.steps]


def first_light(at: datetime) -> datetime:
    """Tomorrow morning on the farm's clock."""
    return planning.first_light(timezone.localdate(at) + timedelta(days=1))
