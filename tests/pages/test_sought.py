"""What is searched for stands sealed in the address; codes and filters stand as they are."""

from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest

from equipment.pages import sought
from tests.cast import Farm


def found(client: Any, page: str, **fields: str) -> tuple[str, dict[str, list[str]], str]:
    """Path and query that the form leads to, and the page there."""
    answer = client.post(f"/find/{page}/", fields)
    assert answer.status_code == 302
    address = urlsplit(answer["Location"])
    return address.path, parse_qs(address.query), client.get(answer["Location"]).content.decode()


def test_a_name_is_found_and_is_not_in_the_address(farm: Farm, client_of: Any) -> None:
    path, query, page = found(client_of("rosa"), "pickers", q="Ana ", crew=farm.crews["red"].pk)
    assert path == "/pickers/" and query["crew"] == [farm.crews["red"].pk]
    assert "ana" not in query["q"][0].lower() and 'value="Ana"' in page
    assert f"/pickers/{farm.pickers['ana'].pk}/" in page and f"/pickers/{farm.pickers['ben'].pk}/" not in page


def test_a_code_stands_as_it_is_and_what_is_empty_falls_away(farm: Farm, client_of: Any) -> None:
    (bag,) = farm.gear("bag")
    rosa = client_of("rosa")
    assert found(rosa, "gear", q=bag, kind="", sort="-tag")[:2] == ("/gear/", {"q": [bag], "sort": ["-tag"]})
    assert rosa.post("/find/gear/", {"q": "  "})["Location"] == "/gear/"


def test_a_seal_that_is_not_ours_asks_for_itself(farm: Farm, client_of: Any, settings: Any) -> None:
    seal = sought.sealed("Ana")
    assert sought.unsealed(seal) == "Ana" and sought.unsealed(seal[:-4] + "AAAA") != "Ana"
    old, settings.SECRET_KEY = settings.SECRET_KEY, "another" * 8
    assert sought.unsealed(seal) == seal
    settings.SECRET_KEY_FALLBACKS = [old]
    assert sought.unsealed(seal) == "Ana"
    for odd in ("Ṱodzi", "gAAAAA", "\0", "=" * 300):
        assert sought.unsealed(odd) == odd and client_of("rosa").get("/gear/", {"q": odd}).status_code == 200


@pytest.mark.parametrize("page", ["board", "users", "nothing"])
def test_it_leads_to_the_two_lists_only(farm: Farm, client_of: Any, page: str) -> None:
    assert client_of("frank").post(f"/find/{page}/", {"q": "x"}).status_code == 404
    assert client_of("frank").get("/find/gear/").status_code in (403, 405)
