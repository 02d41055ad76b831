"""What is said where Shedbook itself failed: the number to read out to whoever looks after the server; or that its disk
is full, so that it can take in nothing until somebody makes room."""

import sys

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template import loader
from django.utils.translation import gettext as _

from config.logs import request_number
from equipment.pages.watching.no_room import no_room

API = "/api/"
AGAIN = 30  # seconds


def server_error(request: HttpRequest) -> HttpResponse:
    """The page, or for the API its JSON; both lean on nothing that may have broken."""
    if no_room(sys.exception()):
        return full(request)
    number = request_number.get()
    if request.path.startswith(API):
        said = _("Something went wrong in Shedbook itself. Its log has it under number %s.") % number
        return JsonResponse({"code": "failed", "say": said}, status=500)
    return HttpResponse(loader.render_to_string("500.html", {"number": number}), status=500)


def full(request: HttpRequest) -> HttpResponse:
    """503: the same may be sent again later, and a counter or phone does so by itself."""
    again = {"Retry-After": str(AGAIN)}
    if request.path.startswith(API):
        said = _(
            "The disk of the server is full, so this was not written down. Tell whoever looks after the server to make"
            " room; then send it again."
        )
        return JsonResponse({"code": "no_room", "say": said}, status=503, headers=again)
    return HttpResponse(loader.render_to_string("503.html"), status=503, headers=again)
