"""A browser's own number in a signed cookie that outlives the sessions."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse

from crews.models import Device

TWO_YEARS = 2 * 366 * 24 * 3600


def number(request: HttpRequest, name: str) -> UUID | None:
    """What the cookie `name` says; None without one, or where it is not ours."""
    known = request.get_signed_cookie(name, default=None, salt=name, max_age=TWO_YEARS)
    try:
        return UUID(known) if known else None
    except ValueError:
        return None


def remember(response: HttpResponse, name: str, device: Device, secure: bool) -> None:
    response.set_signed_cookie(
        name, str(device.pk), salt=name, max_age=TWO_YEARS, httponly=True, samesite="Lax", secure=secure
    )
