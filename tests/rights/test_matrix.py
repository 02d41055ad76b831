"""Every address, by every method, for everybody there may be: the door opens where the policy says so, and only there.

The doors alone are asked, each as it stands in the URL configuration: the middleware's for pages, the view's
own for the API. That both are hung in their places `tests/api/test_policy.py` shows, through the whole stack.
"""

from collections.abc import Iterator
from typing import Any

import pytest
from django.contrib.auth.models import AnonymousUser, Group
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.test import Client, RequestFactory
from django.urls import resolve, reverse
from rest_framework.response import Response
from rest_framework.test import force_authenticate
from rest_framework.views import APIView

from crews import policy
from crews.gatekeeper import API, ASKED_BY_PAGES, PAGES_OF_THE_API, PolicyMiddleware
from crews.models import User
from tests.cast import ROLES, Farm
from tests.rights import matrix
from tests.rights.addresses import ALL, address

LOOKING, CHANGING = ("get", "head", "options"), ("post", "put", "patch", "delete")
ASKED = RequestFactory()
of_pages = PolicyMiddleware(lambda request: HttpResponse())


def of_the_api(name: str) -> bool:
    return name.startswith(API) and name not in PAGES_OF_THE_API


@pytest.fixture
def only_doors(monkeypatch: pytest.MonkeyPatch) -> None:
    """Behind those of the API there is nothing."""

    def inside(*args: Any, **kwargs: Any) -> Response:
        return Response()

    for name, pattern in ALL.items():
        if of_the_api(name):
            assert issubclass(pattern.callback.cls, APIView)  # type: ignore[attr-defined]
            for method in (*LOOKING, *CHANGING):
                monkeypatch.setattr(pattern.callback.cls, method, inside, raising=False)  # type: ignore[attr-defined]


def people(farm: Farm) -> Iterator[tuple[str, User, frozenset[str]]]:
    """Everybody of the cast with their role; one with two; one with none."""
    for name, role in ROLES.items():
        yield name, farm.users[name], frozenset({role})
    both = User.objects.create(username="both")
    both.groups.set(Group.objects.filter(name__in=(policy.MENDER, policy.SUPERVISOR)))
    yield "both", both, frozenset({policy.MENDER, policy.SUPERVISOR})
    yield "nobody", User.objects.create(username="nobody"), frozenset()


def expected(name: str, roles: frozenset[str], method: str) -> bool:
    if name in policy.PUBLIC:
        return True
    rule = policy.ENDPOINTS[name]
    return bool(roles & (rule.look if method in LOOKING else rule.change))


def status(name: str, method: str, person: Any) -> int:
    """What the door of this address says: 200 where it opens."""
    path = address(name)
    request = getattr(ASKED, method)(path)
    request.user, request.resolver_match = person, resolve(path)
    view, args, kwargs = request.resolver_match
    if of_the_api(name):
        if person.is_authenticated:
            force_authenticate(request, person)
        return int(view(request, *args, **kwargs).status_code)
    try:
        answer = of_pages.process_view(request, view, args, kwargs)
    except PermissionDenied:
        return 403
    if answer is None:
        return 200
    if name not in ASKED_BY_PAGES:
        assert answer["Location"].split("?")[0] == reverse("login"), (name, method)
    return answer.status_code


@pytest.mark.only_on("sqlite")
def test_doors_open_where_the_policy_says(farm: Farm, only_doors: None) -> None:
    for who, person, roles in people(farm):
        for name in ALL:
            for method in (*LOOKING, *CHANGING):
                wanted = 200 if expected(name, roles, method) else 403
                assert status(name, method, person) == wanted, (who, name, method)


@pytest.mark.only_on("sqlite")
def test_strangers_meet_a_shut_door_everywhere(only_doors: None) -> None:
    for name in ALL:
        shut = 401 if of_the_api(name) or name in ASKED_BY_PAGES else 302
        for method in (*LOOKING, *CHANGING):
            wanted = 200 if name in policy.PUBLIC else shut
            assert status(name, method, AnonymousUser()) == wanted, (name, method)


@pytest.mark.only_on("sqlite")
def test_who_was_shut_out_is_a_stranger_through_the_whole_stack(farm: Farm) -> None:
    client = Client()
    client.force_login(farm.users["frank"], backend="crews.signing_in.RoleBackend")
    assert client.get("/api/items/").status_code == 200
    User.objects.filter(username="frank").update(is_active=False)
    assert client.get("/api/items/").status_code == 401
    assert client.get("/gear/").status_code == 302


def test_the_table_for_the_auditor_is_the_policy() -> None:
    head, *lines = matrix.rows()
    assert head == ("address", *policy.ROLES)
    told = {name: dict(zip(policy.ROLES, words, strict=True)) for name, *words in lines}
    assert told.keys() == ALL.keys()
    assert told["counter_day_card"][policy.STOREMAN] == matrix.CHANGE
    assert told["figures"][policy.SUPERVISOR] == matrix.NONE
    assert told["healthz"][policy.MENDER] == matrix.ANYBODY
    for name, words in told.items():
        for role, said in words.items():
            roles = frozenset({role})
            may = (expected(name, roles, "get"), expected(name, roles, "post"))
            meant = {"look": (True, False), "change": (False, True), "both": (True, True), "": (False, False)}
            assert meant.get(said, (True, True)) == may, (name, role)
