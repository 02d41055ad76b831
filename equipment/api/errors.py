"""The one place where errors become answers: `{"code", "say"}` with a stable code."""

from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404
from django.utils.translation import gettext as _
from rest_framework import exceptions
from rest_framework.response import Response
from rest_framework.views import exception_handler, set_rollback

CODES = {400: "unreadable", 401: "not_signed_in", 403: "no_right", 404: "not_found", 405: "not_allowed"}


def answer(error: Exception, context: dict[str, Any]) -> Response | None:
    """Errors that a client can act on; None (a 500, logged) for those it cannot."""
    if isinstance(error, RecursionError):
        set_rollback()
        return Response({"code": "unreadable", "say": _("The request is nested too deeply.")}, status=400)
    response = exception_handler(error, context)
    if response is None:
        return None
    given = getattr(error, "stable_code", None)
    code = given or CODES.get(response.status_code) or getattr(error, "default_code", "error")
    response.data = {"code": code, "say": _say(error)}
    return response


def _say(error: Exception) -> str:
    if isinstance(error, Http404):
        return _("There is nothing of that name here.")
    if isinstance(error, PermissionDenied | exceptions.PermissionDenied):
        return _("You may not do this. Ask someone whose work it is.")
    detail = getattr(error, "detail", str(error))
    if isinstance(detail, dict):
        return "; ".join(f"{name}: {_first(value)}" for name, value in detail.items())
    return _first(detail)


def _first(value: Any) -> str:
    if isinstance(value, list):
        return _first(value[0]) if value else ""
    if isinstance(value, dict):
        return "; ".join(f"{name}: {_first(inner)}" for name, inner in value.items())
    return str(value)
