"""`GET /api/trace/`: what it answers, and to whom; that answers are as described."""

import json
from datetime import datetime
from typing import Any

import pytest

from tests.api.test_schema import conforms
from tests.cast import Farm
from tests.traced import Day, a_day

pytestmark = pytest.mark.django_db
PATH = "/api/trace/"


@pytest.fixture
def day(ruled_farm: Farm) -> Day:
    return a_day(ruled_farm)


def test_pieces_and_blocks_with_their_paths(day: Day, client_of: Any) -> None:
    client = client_of("rosa")
    described = json.loads(client.get("/api/schema/?format=json").content)
    asked = {"block": "N4", "disease": "exocortis", "since": day.date.isoformat()}

    def got(**more: Any) -> Any:
        response = client.get(PATH, asked | more)
        conforms(response.json(), PATH, described, status=response.status_code)
        return response.json()

    found = got()
    pieces = {piece["tag"]: piece for piece in found["pieces"]}
    assert {tag: piece["carrying"] for tag, piece in pieces.items()} == {
        day.ana: True,
        day.ben: False,
        day.cy: True,
    }
    assert [(block["block"], block["by"]) for block in found["blocks"]] == [("S2", day.ana)]
    assert datetime.fromisoformat(pieces[day.cy]["reached_at"]) == day.at("came")
    assert pieces[day.cy]["path"][0].startswith(f"{day.ana} in N4 on ") and len(pieces[day.cy]["path"]) == 2
    assert found["carried_by"] == ["clippers"] and found["say"] == "" and found["cautions"]
    moment = day.at("left").isoformat()
    assert got(since=moment)["pieces"] == []  # nobody was in N4 any more
    assert [piece["tag"] for piece in got(steps=1)["pieces"]] == sorted([day.ana, day.ben])
    assert [piece["tag"] for piece in got(until=moment)["pieces"]] == sorted([day.ana, day.ben])
    no_route = got(disease="huanglongbing")
    assert no_route["pieces"] == no_route["carried_by"] == [] and "Gear does not carry" in no_route["say"]
    assert "is in the book" in got(block="S9")["say"]


def test_what_cannot_be_read_is_said(day: Day, client_of: Any) -> None:
    asked = {"block": "N4", "disease": "exocortis", "since": day.date.isoformat()}
    for wrong, says in (
        ({"since": "2999-01-01"}, "still to come"),
        ({"since": "2026-06-03T09:00"}, "with its offset"),
        ({"since": "soon"}, "2026-06-03"),
        ({"until": "2000-01-01"}, "before the day"),
        ({"disease": "measles"}, "catalogue"),
        ({"block": "Z9"}, "block"),
        ({"chaining": "never"}, "chaining"),
        ({"steps": "0"}, "steps"),
    ):
        response = client_of("sam").get(PATH, asked | wrong)
        assert response.status_code == 400 and response.json()["code"] == "unreadable", wrong
        assert says in response.json()["say"], (wrong, response.json())
    assert client_of("mo").get(PATH).status_code == 400
