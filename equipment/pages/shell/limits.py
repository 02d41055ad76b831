"""No request is longer than the largest photo with a form around it, and none may be told without its length."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse, HttpResponseBase, JsonResponse
from django.utils.translation import gettext as _

# A photo of 12 MB, the largest thing that is taken, in a form with other fields.
MOST_BYTES = 13_000_000
API = "/api/"


class Limited:
    """413 before any of the body is read; gunicorn looks at what is still to come for a moment, then closes the line.

    A body whose length is not told (chunked) is not read at all by Django, and would be taken for an empty one: 411.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        if request.META.get("HTTP_TRANSFER_ENCODING"):
            return refused(request, 411, "length_needed", _("Say beforehand how long the request is."))
        told = request.META.get("CONTENT_LENGTH") or "0"
        if not told.isascii() or not told.isdigit() or len(told) > 18 or int(told) > MOST_BYTES:
            most = {"most": MOST_BYTES // 1_000_000}
            return refused(request, 413, "too_large", _("This is more than %(most)s MB. Send less.") % most)
        return self.get_response(request)


def refused(request: HttpRequest, status: int, code: str, said: str) -> HttpResponse:
    """In the form that is asked for there."""
    if request.path.startswith(API):
        return JsonResponse({"code": code, "say": said}, status=status)
    return HttpResponse(said, status=status, content_type="text/plain; charset=utf-8")
