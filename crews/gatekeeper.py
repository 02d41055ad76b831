"""Where the policy is enforced: one middleware for pages, one permission for the API."""

from collections.abc import Callable
from typing import Any

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from crews import languages, policy, second_factor, starting

API = "api:"
# A page among them: who is not signed in is shown the door, as on every page.
PAGES_OF_THE_API = frozenset({"api:docs"})
# Where the farm demands a second factor, all that is open to whoever has none yet.
TO_SET_UP_A_CODE = frozenset({"me_code", "me_code_picture"})
# And to whoever is still to choose a password of their own.
TO_CHOOSE_A_PASSWORD = frozenset({"me_password"})
# Asked by a page that works offline: it must be told that nobody is signed in, not be shown the door.
ASKED_BY_PAGES = frozenset({"orchard_here"})


class PolicyMiddleware:
    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(self, request: HttpRequest, view: Any, args: Any, kwargs: Any) -> HttpResponse | None:
        """Pages only: the API signs people in by token too, later, so it asks in `PolicyPermission`."""
        name = request.resolver_match.view_name if request.resolver_match else ""
        if name in policy.PUBLIC or (name.startswith(API) and name not in PAGES_OF_THE_API):
            return None
        if name in ASKED_BY_PAGES:
            return _told(request, name)
        if not request.user.is_authenticated:
            return redirect_to_login(request.get_full_path())
        if not policy.may_open(request.user, name, request.method or "GET"):
            raise PermissionDenied
        if starting.is_due(request.user):
            return None if name in TO_CHOOSE_A_PASSWORD else redirect("me_password")
        if name not in TO_SET_UP_A_CODE and second_factor.is_due(request):
            return redirect("me_code")
        return None


def _told(request: HttpRequest, name: str) -> JsonResponse | None:
    """The refusals of the API, for those who are refused."""
    if not request.user.is_authenticated:
        return JsonResponse({"code": "not_signed_in", "say": _("Sign in.")}, status=401)
    if _is_held_back(request) or not policy.may_open(request.user, name, request.method or "GET"):
        said = _("You may not do this. Ask someone whose work it is.")
        return JsonResponse({"code": "no_right", "say": said}, status=403)
    return None


def _is_held_back(request: HttpRequest | Request) -> bool:
    return starting.is_due(request.user) or second_factor.is_due(request)


class PolicyPermission(BasePermission):
    """A request may say for whom it speaks (`X-Author`, a user's number): what one person's phone kept never goes in
    as another's who has signed in on it meanwhile."""

    def has_permission(self, request: Request, view: Any) -> bool:
        # Who has a token is known only here.
        languages.speak_to(request.user)
        match = request.resolver_match
        return bool(
            request.user
            and request.user.is_authenticated
            and request.headers.get("X-Author", str(request.user.pk)) == str(request.user.pk)
            and match
            and policy.may_open(request.user, match.view_name, request.method or "GET")
            # A token is made by whoever runs the server, and knows no second step.
            and (request.auth is not None or not _is_held_back(request))
        )
