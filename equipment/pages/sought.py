"""What somebody looks for may be a person's name, and addresses are written down by browsers, proxies and histories.

So a form that looks for somebody sends its words in the body, and they stand sealed in the address of what was found,
which can be turned over, sorted, kept and opened in a second window as any other. A code stays as it is: it names a
thing.
"""

import base64
import hashlib
from typing import Any

from cryptography.fernet import Fernet, InvalidToken, MultiFernet
from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from equipment.domain import codes

WORDS = "q"
PAGES = ("gear", "pickers")
LONGEST = 200


@require_POST
def find(request: HttpRequest, page: str) -> HttpResponse:
    """On to the page of that name with what its form asks for; whether one may open it, the page itself says."""
    if page not in PAGES:
        raise Http404
    query = request.POST.copy()
    query.pop("csrfmiddlewaretoken", None)
    if WORDS in query:
        query[WORDS] = sealed(query[WORDS].strip()[:LONGEST])
    for name in [name for name, value in query.items() if not value]:
        del query[name]
    return redirect(f"{reverse(page)}?{query.urlencode()}" if query else reverse(page))


def asked(request: HttpRequest) -> QueryDict:
    """What the address asks for, its words readable; a seal that is not ours asks for itself."""
    query = request.GET.copy()
    if WORDS in query:
        query[WORDS] = unsealed(query[WORDS])
    return query


def sealed(words: str) -> str:
    """For an address: a code as it is, anything else so that only this farm's server can read it."""
    return words if not words or _is_code(words) else _box().encrypt(words.encode()).decode()


def unsealed(text: str) -> str:
    try:
        return _box().decrypt(text.encode()).decode()
    except InvalidToken:
        return text


def _is_code(words: str) -> bool:
    try:
        codes.parse(words)
    except codes.BadCode:
        return False
    return True


def _box() -> MultiFernet:
    keys: list[Any] = [settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS]
    return MultiFernet([Fernet(_key(key)) for key in keys])


def _key(secret: str) -> bytes:
    return base64.urlsafe_b64encode(hashlib.sha256(b"shedbook words sought" + secret.encode()).digest())
