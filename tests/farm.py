"""The small farm of `tests.cast` as fixtures."""

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from rest_framework.test import APIClient

from equipment.actions import receive
from equipment.actions.load_catalogue import load_catalogue
from tests.cast import Farm, found_farm

Post = Callable[..., list[dict[str, Any]]]
SignIn = Callable[[str], Client]


@pytest.fixture
def farm(db: None) -> Farm:
    return found_farm()


@pytest.fixture
def ruled_farm(farm: Farm) -> Farm:
    """The same farm with the rules of the catalogue in force."""
    load_catalogue()
    return farm


@pytest.fixture
def as_(ruled_farm: Farm) -> SignIn:
    """A browser's client signed in as one of the cast, where the rules are in force."""

    def sign_in(name: str) -> Client:
        client = Client()
        client.force_login(ruled_farm.users[name], backend="crews.signing_in.RoleBackend")
        return client

    return sign_in


@pytest.fixture
def no_counter_at_work(monkeypatch: pytest.MonkeyPatch) -> None:
    """As if no counter had scanned of late: what a phone sends is then written in large parts."""
    monkeypatch.setattr(receive, "_counters", receive._Counters())


@pytest.fixture
def client_of(farm: Farm) -> Callable[[str], APIClient]:
    """An API client signed in as one of the cast."""

    def sign_in(name: str) -> APIClient:
        client = APIClient()
        client.force_login(farm.users[name], backend="crews.signing_in.RoleBackend")
        return client

    return sign_in


@pytest.fixture
def post(farm: Farm, client_of: Callable[[str], APIClient]) -> Post:
    """Send entries as Rosa (or another) and get their answers."""

    def send(*entries: Any, name: str = "rosa", gate: str = "hold", **fields: Any) -> list[dict[str, Any]]:
        response = client_of(name).post("/api/entries/", farm.batch(entries, gate, **fields), format="json")
        assert response.status_code == 200, response.content
        return response.json()["answers"]

    return send
