"""Which counter this browser is: a device row of the store."""

from django.http import HttpRequest, HttpResponse

from crews.models import Device
from crews.models.devices import DeviceQuerySet
from equipment.pages.devices import cookie

COOKIE = "counter"


def counters() -> DeviceQuerySet:
    """Counters in use, with their stores."""
    return (
        Device.objects.live()
        .filter(kind=Device.Kind.COUNTER, store__isnull=False, owner=None)
        .select_related("store")
    )


def counter_of(request: HttpRequest) -> Device | None:
    """The counter that this browser was said to be, if it still is one."""
    own = cookie.number(request, COOKIE)
    return counters().filter(pk=own).first() if own else None


def remember(response: HttpResponse, counter: Device, secure: bool) -> None:
    cookie.remember(response, COOKIE, counter, secure)
