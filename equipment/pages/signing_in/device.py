"""The device of the farm at which somebody signs in, and whose names it offers."""

from django.db.models import Q
from django.http import HttpRequest
from django.urls import reverse

from crews import pins, policy
from crews.models import Device, User
from equipment.pages.counter.here import counter_of
from equipment.pages.devices.phone import phone_of


def device_of(request: HttpRequest) -> Device | None:
    """The counter or phone that this browser was enrolled as, and still is. One that is both is a phone only where the
    orchard is asked for."""
    phone = phone_of(request)
    phone = phone if phone and phone.revoked_at is None else None
    asked = request.POST.get("next") or request.GET.get("next", "")
    if phone and asked.startswith(reverse("orchard")):
        return phone
    return counter_of(request) or phone


def at_counter(device: Device | None) -> list[User]:
    """Those who stand at this counter by PIN, by name: storemen of its store or of none. A phone, which may be lost,
    names nobody."""
    if device is None or device.kind != Device.Kind.COUNTER:
        return []
    here = User.objects.filter(is_active=True, groups__name=policy.STOREMAN, pin__isnull=False)
    here = here.filter(Q(store=device.store_id) | Q(store=None)).prefetch_related("groups")
    names = {user.pk: user.get_full_name() or user.get_username() for user in here}
    rows = [
        user for user in here if pins.PASSWORD_ONLY.isdisjoint({group.name for group in user.groups.all()})
    ]
    return sorted(rows, key=lambda user: names[user.pk].casefold())
