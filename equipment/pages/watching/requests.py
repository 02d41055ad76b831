"""The outermost of the middleware: a number for each request, one line of the log when it is answered, and the meters.

A line has numbers and codes only, never a name and never what was asked for after the `?`.
"""

import logging
import re
from collections import Counter
from collections.abc import Callable
from time import perf_counter
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils.functional import LazyObject, empty

from config.logs import request_number
from equipment.ledger.watched import Watch, watching
from equipment.pages.watching import meters

HEADER = "X-Request-ID"
A_NUMBER = re.compile(r"[\w.-]{8,64}", re.ASCII)
logger = logging.getLogger("shedbook.request")


class Watching:
    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        begun = perf_counter()
        by_proxy = _told_by_a_proxy(request)
        number = _number_of(request, by_proxy)
        before = request_number.set(number)
        try:
            with watching() as watch:
                response = self.get_response(request)
            response[HEADER] = number
            seconds = perf_counter() - begun
            _tell(request, response, watch, seconds)
            meters.answered(route(request), request.method or "", response.status_code, seconds, watch)
            return response
        finally:
            request_number.reset(before)


def _told_by_a_proxy(request: HttpRequest) -> bool:
    """Whether the request came by the farm's own proxy; then the address is that of whoever asked the proxy."""
    address = request.META.get("REMOTE_ADDR", "")
    if address not in settings.PROXIES:
        return False
    # The last one: those before it anybody may have written.
    if told := request.headers.get("X-Forwarded-For", "").rpartition(",")[2].strip():
        request.META["REMOTE_ADDR"] = told
    return True


def _number_of(request: HttpRequest, by_proxy: bool) -> str:
    given = request.headers.get(HEADER, "")
    return given if by_proxy and A_NUMBER.fullmatch(given) else uuid4().hex


def route(request: HttpRequest) -> str:
    """The name of the address that was asked for; one word for all that are not there."""
    match = request.resolver_match
    return match.view_name if match else "none"


def _tell(request: HttpRequest, response: HttpResponse, watch: Watch, seconds: float) -> None:
    if not logger.isEnabledFor(logging.INFO):
        return
    facts: dict[str, Any] = {
        "method": request.method,
        "route": route(request),
        "status": response.status_code,
        "ms": round(seconds * 1000, 1),
        "address": request.META.get("REMOTE_ADDR", ""),
        "user": _user(request),
        "device": watch.device and str(watch.device),
        "entries": [str(entry) for entry, _, _ in watch.entries],
        "heads": watch.heads,
        "refused": dict(Counter(watch.refused)),
        "waited_ms": round(watch.waited * 1000, 1),
    }
    kept = {name: fact for name, fact in facts.items() if fact not in (None, "", [], {}, 0.0)}
    said = "{method} {route} {status} {ms} ms".format(**facts)
    logger.log(logging.ERROR if response.status_code >= 500 else logging.INFO, said, extra=kept)


def _user(request: HttpRequest) -> int | None:
    """Whose request it was, where anything asked for that: to ask now would cost a query."""
    user = request.__dict__.get("user")
    if user is None or (isinstance(user, LazyObject) and user.__dict__.get("_wrapped", empty) is empty):
        return None
    return user.pk
