"""What phones fetch is sent compressed: the page, its modules, the decoder and the crew sheets.

Not everything: an answer that holds a secret beside something that a stranger chose could be guessed by its size
(BREACH), and the counter's short answers gain nothing.
"""

from django.conf import settings
from django.http import HttpRequest, HttpResponseBase
from django.middleware.gzip import GZipMiddleware

OPEN = (settings.STATIC_URL, "/orchard", "/sw.js", "/api/crews/")


class CompressForPhones(GZipMiddleware):
    def process_response(self, request: HttpRequest, response: HttpResponseBase) -> HttpResponseBase:
        return super().process_response(request, response) if request.path.startswith(OPEN) else response
