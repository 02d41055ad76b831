"""In which language somebody is spoken to: the one they chose; else the one chosen on this browser, or that it asks
for; else the farm's (FARM_LANGUAGE).

A language is there as soon as its message file is: `config.languages`.
"""

from collections.abc import Callable
from contextlib import AbstractContextManager
from gettext import GNUTranslations, find
from typing import Any

from django.conf import settings
from django.contrib.auth.models import AnonymousUser
from django.http import HttpRequest, HttpResponse, HttpResponseNotFound
from django.utils import translation
from django.utils.translation import gettext as _
from django.views import defaults

from crews.models import User

DRAFT = "x-draft"


class Languages:
    """After those who know who asks. Django's own has read the browser's language before."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(self, request: HttpRequest, view: Any, args: Any, kwargs: Any) -> None:
        """Not before: who asks is looked up only once it is known what for."""
        speak_to(request.user, request)


def speak_to(user: User | AnonymousUser, request: HttpRequest | None = None) -> None:
    """From here on in the language that `user` chose; as it is where they chose none."""
    if chosen := _chosen(user):
        translation.activate(chosen)
        if request is not None:
            request.LANGUAGE_CODE = chosen


def remember(request: HttpRequest, response: HttpResponse) -> None:
    """On this browser, as if its sign-in page had been asked for that language."""
    if chosen := _chosen(request.user):
        response.set_cookie(
            settings.LANGUAGE_COOKIE_NAME,
            chosen,
            max_age=settings.LANGUAGE_COOKIE_AGE,
            secure=settings.LANGUAGE_COOKIE_SECURE,
            httponly=settings.LANGUAGE_COOKIE_HTTPONLY,
            samesite=settings.LANGUAGE_COOKIE_SAMESITE,
        )


def of(user: User | None) -> AbstractContextManager[None]:
    """What is said to `user` while they are not asking, such as a mail."""
    return translation.override(_chosen(user) or settings.LANGUAGE_CODE)


def of_the_farm() -> AbstractContextManager[None]:
    """What hangs in the store or on the gear, and is read by everybody."""
    return translation.override(settings.LANGUAGE_CODE)


def choices() -> list[tuple[str, str]]:
    """Each language by its own name, and whether it is a draft."""
    return [(code, _("%(language)s (draft)") % {"language": name} if is_draft(code) else name)
            for code, name in settings.LANGUAGES]  # fmt: skip


def is_draft(code: str) -> bool:
    """What the head of its message file says of it: X-Draft."""
    return any(DRAFT in _head(path) for path in _files(code))


def not_found(request: HttpRequest, exception: Exception) -> HttpResponseNotFound:
    """Where no view is, nobody has asked yet in which language to say so."""
    speak_to(getattr(request, "user", AnonymousUser()), request)
    return defaults.page_not_found(request, exception)


def _chosen(user: Any) -> str:
    """A language whose file was taken away is chosen no more."""
    chosen = getattr(user, "language", "")
    return chosen if chosen and chosen in dict(settings.LANGUAGES) else ""


def _files(code: str) -> list[str]:
    local = translation.to_locale(code)
    found = (find("django", folder, [local]) for folder in settings.LOCALE_PATHS)
    return [path for path in found if path]


def _head(path: str) -> dict[str, str]:
    with open(path, "rb") as file:
        return GNUTranslations(file).info()  # type: ignore[no-any-return]
