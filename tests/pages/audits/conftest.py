"""An audit of a hundred bags, and somebody who scans and says what they are like."""

import pytest

from equipment.models import Audit
from tests.audits import drawn
from tests.cast import Farm


@pytest.fixture
def bags(ruled_farm: Farm) -> list[str]:
    return ruled_farm.gear("bag", 100)


@pytest.fixture
def audit(ruled_farm: Farm, bags) -> Audit:
    return drawn(ruled_farm)


@pytest.fixture
def scan(client_of, audit: Audit):
    """`scan(code, mode, piece)` as Olga; the page that comes of it."""

    def press(code: str, mode: str = "open", piece: str = "", who: str = "olga"):
        said = {"code": code, "scan": mode, "piece": piece}
        return client_of(who).post(f"/audits/{audit.pk}/", said, follow=True)

    return press


@pytest.fixture
def say(client_of, audit: Audit):
    def press(tag: str, who: str = "olga", **said):
        return client_of(who).post(f"/audits/{audit.pk}/answer/{tag}/", said, follow=True)

    return press
