"""The small farm of `tests.cast` as fixtures."""

from collections.abc import Callable
from typing import Any

import pytest
from rest_framework.test import APIClient

from tests.cast import Farm, found_farm

Post = Callable[..., list[dict[str, Any]]]


@pytest.fixture
def farm(db: None) -> Farm:
    return found_farm()


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
