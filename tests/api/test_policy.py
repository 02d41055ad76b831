"""Nothing is reachable that the policy does not name, and nothing without signing in."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from crews import policy
from crews.gatekeeper import API, ASKED_BY_PAGES, PAGES_OF_THE_API
from equipment.domain.verbs import VERBS
from tests.cast import Farm
from tests.rights.addresses import ALL, address


def test_there_are_urls_and_all_have_names() -> None:
    assert {"api:entries", "board", "login"} <= set(ALL)
    assert "" not in ALL


@pytest.mark.parametrize("name", sorted(ALL))
def test_every_url_is_declared(name: str) -> None:
    assert name in policy.ENDPOINTS or name in policy.PUBLIC


def test_nothing_is_declared_that_is_not_there() -> None:
    assert set(policy.ENDPOINTS) | policy.PUBLIC <= set(ALL)
    assert not set(policy.ENDPOINTS) & policy.PUBLIC


@pytest.mark.parametrize("verb", sorted(VERBS))
def test_every_verbs_action_is_granted_to_somebody(verb: str) -> None:
    assert policy.ACTIONS[VERBS[verb].action] <= policy.ALL
    assert policy.ACTIONS[VERBS[verb].action]


def test_every_action_belongs_to_a_verb() -> None:
    assert set(policy.ACTIONS) == {verb.action for verb in VERBS.values()}


PRIVATE = sorted(set(ALL) - policy.PUBLIC)


@pytest.mark.only_on("sqlite")
@pytest.mark.parametrize("method", ["get", "post"])
def test_strangers_are_shown_to_the_door(method: str, db: None) -> None:
    for name in PRIVATE:
        response = getattr(Client(), method)(address(name))
        if (name.startswith(API) and name not in PAGES_OF_THE_API) or name in ASKED_BY_PAGES:
            assert response.status_code in (401, 403), name
            assert b"not_signed_in" in response.content or b"no_right" in response.content
        else:
            assert (response.status_code, response["Location"].split("?")[0]) == (302, reverse("login")), name


@pytest.mark.only_on("sqlite")
def test_who_may_not_look_is_told_so(farm: Farm, client_of: Any) -> None:
    """At every address, for every role that the policy leaves out."""
    for who, person in farm.users.items():
        client = client_of(who)
        for name in PRIVATE:
            if not person.roles & policy.ENDPOINTS[name].look:
                assert client.get(address(name)).status_code in (403, 405), (who, name)


@pytest.mark.only_on("sqlite")
def test_who_may_not_change_is_told_so(farm: Farm, client_of: Any) -> None:
    for who, person in farm.users.items():
        client = client_of(who)
        for name in PRIVATE:
            if not person.roles & policy.ENDPOINTS[name].change:
                for method in ("post", "delete"):
                    assert getattr(client, method)(address(name)).status_code in (403, 405), (
                        who,
                        name,
                        method,
                    )


def test_what_is_not_declared_is_refused_even_to_the_manager(
    farm: Farm, client_of: Any, monkeypatch: Any
) -> None:
    monkeypatch.delitem(policy.ENDPOINTS, "board")
    monkeypatch.delitem(policy.ENDPOINTS, "api:items")
    assert client_of("frank").get("/").status_code == 403
    assert client_of("frank").get("/api/items/").status_code == 403
    assert not policy.may_act(farm.users["frank"], "no such action")


def test_an_address_that_is_nowhere_is_404(farm: Farm, client_of: Any) -> None:
    assert client_of("rosa").get("/nowhere/").status_code == 404


def test_a_token_opens_what_its_owner_may(farm: Farm) -> None:
    from rest_framework.authtoken.models import Token

    token = Token.objects.create(user=farm.users["sam"])
    headers = {"Authorization": f"Token {token.key}"}
    crews = Client(headers=headers).get("/api/crews/").json()["results"]
    assert [crew["code"] for crew in crews] == [farm.crews["red"].pk]
    assert Client(headers={"Authorization": "Token nonsense"}).get("/api/crews/").status_code == 401
    farm.users["sam"].is_active = False
    farm.users["sam"].save()
    assert Client(headers=headers).get("/api/crews/").status_code == 401
