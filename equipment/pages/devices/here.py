"""`/orchard/here/`: what the orchard page asks whenever it has a line: who is signed in, on which phone, for which
store. Never a redirect: a page that works offline must be told that it is signed out, not be shown the door."""

from collections.abc import Sequence
from typing import Any

from django.db.models import Q
from django.http import HttpRequest, JsonResponse
from django.middleware.csrf import get_token
from django.utils import timezone
from django.views.decorators.http import require_GET

from crews.models import Crew, Device, Store, User
from equipment.actions.hear_phone import hear
from equipment.actions.leading import leads
from equipment.models.sheet import readable
from equipment.pages.devices.phone import phone_of, remember
from equipment.pages.shell.files import build

# Of two stores none is the farm's only one.
TWO = 2


@require_GET
def here(request: HttpRequest) -> JsonResponse:
    phone, user = phone_of(request), request.user
    if phone is not None:
        hear(phone, request.headers.get("X-Unsent"), timezone.now())
    answer = {**told(user, phone), "csrf": get_token(request), "build": build()}
    response = JsonResponse(answer, headers={"Cache-Control": "private, no-store"})
    if phone is not None:
        # Browsers forget a cookie after some 400 days: a phone in use begins them anew.
        remember(request, response, phone)
    return response


def told(user: User, phone: Device | None) -> dict[str, Any]:
    """`device` None: a phone that nobody enrolled. A revoked one keeps its number: what it has is still its own."""
    store, own = _store(user, phone), leads(user, timezone.now())
    name = user.get_full_name() or user.get_username()
    return {
        "user": {"id": user.pk, "name": name, "initials": initials(name)},
        "store": store,
        "device": {"id": str(phone.pk), "name": phone.name} if phone else None,
        "revoked": phone is not None and phone.revoked_at is not None,
        "crews": [
            {"code": crew.pk, "name": crew.name, "own": crew.pk in own} for crew in _crews(user, store, own)
        ],
    }


def initials(name: str) -> str:
    """All that a phone, which may be lost, keeps of a name."""
    return " ".join(f"{word[0].upper()}." for word in name.split())


def _store(user: User, phone: Device | None) -> str | None:
    """The phone's, the user's, that of a crew they lead, or the farm's only one."""
    known = (phone.store_id if phone else None) or user.store_id
    led = known or user.crews.filter(active=True).order_by("name").values_list("store", flat=True).first()
    if led:
        return str(led)
    stores = list(Store.objects.values_list("pk", flat=True)[:TWO])
    return stores[0] if len(stores) == 1 else None


def _crews(user: User, store: str | None, own: frozenset[str]) -> Sequence[Crew]:
    """Those of the store and those that this person leads, these in front."""
    rows = readable(user).filter(Q(store=store) | Q(pk__in=own)).order_by("name", "code")
    return sorted(rows, key=lambda crew: crew.pk not in own)
