"""Which phone this is: the device row that it was enrolled as."""

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from crews.models import Device
from equipment.pages.devices import cookie

COOKIE = "phone"


def phone_of(request: HttpRequest) -> Device | None:
    """The phone as enrolled, revoked or not; None for a browser that never was."""
    own = cookie.number(request, COOKIE)
    phones = Device.objects.filter(kind=Device.Kind.PHONE).select_related("store")
    return phones.filter(pk=own).first() if own else None


def remember(request: HttpRequest, response: HttpResponse, phone: Device) -> None:
    cookie.remember(response, COOKIE, phone, secure=settings.HTTPS or request.is_secure())
