"""What is said where Shedbook itself failed: the number to read out to whoever looks after the server."""

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.template import loader
from django.utils.translation import gettext as _

from config.logs import request_number

API = "/api/"


def server_error(request: HttpRequest) -> HttpResponse:
    """The page, or for the API its JSON; both lean on nothing that may have broken."""
    number = request_number.get()
    if request.path.startswith(API):
        said = _("Something went wrong in Shedbook itself. Its log has it under number %s.") % number
        return JsonResponse({"code": "failed", "say": said}, status=500)
    return HttpResponse(loader.render_to_string("500.html", {"number": number}), status=500)
