"""Where the policy is enforced: one middleware for pages, one permission for the API."""

from collections.abc import Callable
from typing import Any

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from crews import policy

API = "api:"
# A page among them: who is not signed in is shown the door, as on every page.
PAGES_OF_THE_API = frozenset({"api:docs"})


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
        if not request.user.is_authenticated:
            return redirect_to_login(request.get_full_path())
        if not policy.may_open(request.user, name, request.method or "GET"):
            raise PermissionDenied
        return None


class PolicyPermission(BasePermission):
    def has_permission(self, request: Request, view: Any) -> bool:
        match = request.resolver_match
        return bool(
            request.user
            and request.user.is_authenticated
            and match
            and policy.may_open(request.user, match.view_name, request.method or "GET")
        )
