"""Whoever takes stock, signed in."""

import pytest
from django.test import Client

from tests.cast import Farm
from tests.stocktaking import SignedIn


@pytest.fixture
def as_(farm: Farm) -> SignedIn:
    def signed_in(name: str = "rosa") -> Client:
        client = Client()
        client.force_login(farm.users[name], backend="crews.signing_in.RoleBackend")
        return client

    return signed_in
