"""Which counter this browser is: a device row of the store, kept in a signed cookie that outlives the sessions."""

from uuid import UUID

from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse

from crews.models import Device
from crews.models.devices import DeviceQuerySet

COOKIE = "counter"
TWO_YEARS = 2 * 366 * 24 * 3600


def counters() -> DeviceQuerySet:
    """Counters in use, with their stores."""
    return (
        Device.objects.live()
        .filter(kind=Device.Kind.COUNTER, store__isnull=False, owner=None)
        .select_related("store")
    )


def counter_of(request: HttpRequest) -> Device | None:
    """The counter that this browser was said to be, if it still is one."""
    known = request.get_signed_cookie(COOKIE, default=None, salt=COOKIE)
    try:
        return counters().filter(pk=UUID(known)).first() if known else None
    except (ValueError, ValidationError):
        return None


def remember(response: HttpResponse, counter: Device, secure: bool) -> None:
    response.set_signed_cookie(
        COOKIE, str(counter.pk), salt=COOKIE, max_age=TWO_YEARS, httponly=True, samesite="Lax", secure=secure
    )
