"""`GET /api/overdue/`: what is out and due, in pages."""

from datetime import datetime, timedelta

import pytest
from django.utils import timezone

from tests.api.test_schema import conforms
from tests.cast import Farm
from tests.mornings import ago, clippers, handed, hours_up, told


def test_an_item_says_what_when_where_and_why(ruled_farm: Farm, client_of) -> None:
    (tag,) = hours_up(ruled_farm, 1)
    answer = client_of("rosa").get("/api/overdue/").json()
    described = client_of("rosa").get("/api/schema/?format=json").json()
    conforms(answer, "/api/overdue/", described)
    assert answer["next"] is None
    (item,) = answer["results"]
    due_at = datetime.fromisoformat(item.pop("due_at"))
    assert timedelta(minutes=35) <= timezone.now() - due_at < timedelta(minutes=36)
    assert item == {
        "tag": tag,
        "kind": "clippers",
        "store": "A",
        "place": "picker",
        "picker": ruled_farm.badges["ana"],
        "crew": ruled_farm.crews["red"].pk,
        "block": "N4",
        "method": "sterilise",
        "cause": "hours",
        "overdue_minutes": 35,
    }


def test_where_no_visit_is_open_there_is_no_block(ruled_farm: Farm, client_of) -> None:
    hours_up(ruled_farm, 1)
    told(ruled_farm, "left", ago(minutes=1))
    (item,) = client_of("rosa").get("/api/overdue/").json()["results"]
    assert item["block"] is None


def test_what_falls_due_soon_is_asked_for(ruled_farm: Farm, client_of) -> None:
    hours_up(ruled_farm, 1, late=timedelta(minutes=-75))
    client = client_of("rosa")
    assert client.get("/api/overdue/").json()["results"] == []
    assert client.get("/api/overdue/?within=60").json()["results"] == []
    (item,) = client.get("/api/overdue/?within=90").json()["results"]
    assert item["overdue_minutes"] == -75


def test_pages_by_key(ruled_farm: Farm, client_of) -> None:
    tags = hours_up(ruled_farm, 7)
    found, address, pages = [], "/api/overdue/?limit=3", 0
    while address:
        answer = client_of("rosa").get(address).json()
        found += [item["tag"] for item in answer["results"]]
        address, pages = answer["next"], pages + 1
    assert (sorted(found), pages) == (tags, 3)


def test_a_supervisor_sees_their_own(ruled_farm: Farm, client_of) -> None:
    handed(ruled_farm, clippers(ruled_farm, 1), ago(hours=1), "cy", "blue")
    assert len(client_of("rosa").get("/api/overdue/").json()["results"]) == 1
    assert client_of("sam").get("/api/overdue/").json()["results"] == []


@pytest.mark.parametrize("query", ["within=-1", "within=x", "within=99999999", "limit=0", "limit=501"])
def test_what_cannot_be_asked_is_refused(ruled_farm: Farm, client_of, query: str) -> None:
    assert client_of("rosa").get(f"/api/overdue/?{query}").status_code == 400


@pytest.mark.parametrize("cursor", ["x", "eA==", "ZHw=", "MDAwMS0wMS0wMVQwMDowMDowMCswNTowMHwx", "\x00", "é"])
def test_a_made_up_page_is_nowhere(ruled_farm: Farm, client_of, cursor: str) -> None:
    assert client_of("rosa").get("/api/overdue/", {"cursor": cursor}).status_code == 404


def test_its_cost_does_not_grow(ruled_farm: Farm, client_of, django_assert_num_queries) -> None:
    """Session, person, and one question."""
    client = client_of("rosa")
    for more in (2, 30):
        hours_up(ruled_farm, more)
        with django_assert_num_queries(3):
            client.get("/api/overdue/?limit=500")
