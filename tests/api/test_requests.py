"""Requests that are no requests: each a clear answer, never a 500, and nothing written."""

import json
from collections.abc import Callable
from typing import Any

import pytest
from rest_framework.test import APIClient

from crews.models import Device
from equipment.actions.raw import MOST
from equipment.api.parsing import MOST_BYTES
from equipment.models import Entry
from tests.cast import Farm
from tests.farm import Post

SignIn = Callable[[str], APIClient]
URL = "/api/entries/"

BODIES: dict[str, bytes] = {
    "nothing": b"",
    "no JSON": b"hand out BG0001",
    "half a JSON": b'{"device": "',
    "a list": b"[]",
    "a number": b"7",
    "null": b"null",
    "a text": b'"entries"',
    "NaN": b'{"entries": [NaN]}',
    "a number too long": b'{"entries": [' + b"9" * 5000 + b"]}",
    "too deep": b'{"entries": ' + b"[" * 100_000 + b"]" * 100_000 + b"}",
    "not UTF-8": b'{"entries": ["\xff\xfe"]}',
    "UTF-16": '{"entries": []}'.encode("utf-16"),
    "a mark before": b"\xef\xbb\xbf{}",
}


@pytest.mark.parametrize("body", BODIES)
def test_a_body_that_cannot_be_read_is_400(body: str, farm: Farm, client_of: SignIn) -> None:
    response = client_of("rosa").post(URL, BODIES[body], content_type="application/json")
    assert (response.status_code, response.json()["code"]) == (400, "unreadable"), response.content
    assert response.json()["say"]


WRONG: dict[str, list[Any]] = {
    "device": [None, "", "counter", 7.5, [], {}, "\x00", "\ud800"],
    "sent_at": [None, "", "yesterday", "2026-13-01T00:00:00Z", 0, [], {}, "0001-01-01T00:00:00+14:00x"],
    "gate": [None, "", "open", "HOLD", 1, [], {}, "\x00"],
    "entries": [None, "", "x", 1, {}, {"0": {}}],
    "store": ["Z", "x" * 21, 1, True, [], {}, "\x00", "\ud800"],
}


@pytest.mark.parametrize("field", WRONG)
def test_a_field_that_is_wrong_is_named(field: str, farm: Farm, client_of: SignIn) -> None:
    client = client_of("rosa")
    (tag,) = farm.gear("bag")
    before = Entry.objects.count()
    for value in WRONG[field]:
        body = farm.batch([farm.entry("missed", item=tag)]) | {field: value}
        response = client.post(URL, json.dumps(body), content_type="application/json")
        assert (response.status_code, response.json()["code"]) == (400, "unreadable"), (
            value,
            response.content,
        )
        assert response.json()["say"].startswith(field)
    assert Entry.objects.count() == before


@pytest.mark.parametrize("field", ["device", "sent_at", "gate", "entries"])
def test_a_field_that_is_absent_is_named(field: str, farm: Farm, client_of: SignIn) -> None:
    body = {name: value for name, value in farm.batch([]).items() if name != field}
    response = client_of("rosa").post(URL, body, format="json")
    assert (response.status_code, response.json()["say"].split(":")[0]) == (400, field)


@pytest.mark.parametrize("store", [None, " a ", "A"])
def test_the_store_may_be_left_to_the_counter(store: str | None, farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag")
    assert post(farm.entry("missed", item=tag), store=store)[0]["outcome"] == "recorded"
    assert Entry.objects.get(verb="missed").store_id == "A"


def test_five_hundred_and_one_are_too_many(farm: Farm, client_of: SignIn) -> None:
    client = client_of("rosa")
    for count, status in ((MOST + 1, 413), (MOST, 200)):
        response = client.post(URL, farm.batch([{}] * count), format="json")
        assert response.status_code == status
    assert len(response.json()["answers"]) == 500 == MOST
    too_many = client.post(URL, farm.batch([{}] * 501), format="json").json()
    assert (too_many["code"], "501" in too_many["say"]) == ("too_many", True)


def test_a_body_longer_than_any_honest_one_is_413(farm: Farm, client_of: SignIn) -> None:
    body = json.dumps(farm.batch([{"id": "x" * MOST_BYTES}]))
    response = client_of("rosa").post(URL, body, content_type="application/json")
    assert (response.status_code, response.json()["code"]) == (413, "too_many")


def test_the_longest_honest_batch_is_taken(farm: Farm, client_of: SignIn) -> None:
    (tag,) = farm.gear("bag")
    note = "\U0001f34a" * 2000
    body = json.dumps(farm.batch([farm.entry("missed", item=tag, note=note) for _ in range(MOST)]))
    assert len(body) > MOST_BYTES  # as escaped pairs: more than any keyboard sends
    body = json.dumps(farm.batch([farm.entry("missed", item=tag, note="ü" * 2000) for _ in range(MOST)]))
    assert len(body) < MOST_BYTES
    response = client_of("rosa").post(URL, body, content_type="application/json")
    assert {a["outcome"] for a in response.json()["answers"]} == {"recorded"}


@pytest.mark.parametrize(
    "content_type", ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data", "nonsense"]
)
def test_another_content_type_is_415(content_type: str, farm: Farm, client_of: SignIn) -> None:
    response = client_of("rosa").post(URL, b"device=1", content_type=content_type)
    assert (response.status_code, response.json()["code"]) == (415, "unsupported_media_type"), (
        response.content
    )


@pytest.mark.parametrize(
    "charset", ["utf-8", "latin-1", "rot13", "hex", "utf-7", "idna", "undefined", "nonsense"]
)
def test_a_declared_charset_changes_nothing(charset: str, farm: Farm, client_of: SignIn) -> None:
    (tag,) = farm.gear("bag")
    body = json.dumps(farm.batch([farm.entry("missed", item=tag, note="grüßt")]), ensure_ascii=False).encode()
    response = client_of("rosa").post(URL, body, content_type=f"application/json; charset={charset}")
    assert response.json()["answers"][0]["outcome"] == "recorded"


@pytest.mark.parametrize("method", ["get", "put", "patch", "delete"])
def test_another_method_is_refused(method: str, farm: Farm, client_of: SignIn) -> None:
    response = getattr(client_of("rosa"), method)(URL)
    assert response.status_code in (403, 405)
    assert response.json()["code"] in ("no_right", "not_allowed")


@pytest.mark.parametrize("cursor", ["x", "cD14", "cD0lMDA=", "bz05OTk5OTk5OTk5", "cD1cdTAwMDA", "r=1", "%00"])
@pytest.mark.parametrize("path", ["items", "pickers", "crews", "blocks", "stores"])
def test_a_page_that_is_made_up_is_not_found_or_empty(
    path: str, cursor: str, farm: Farm, client_of: SignIn
) -> None:
    farm.gear("bag", 3)
    response = client_of("rosa").get(f"/api/{path}/?cursor={cursor}")
    assert response.status_code in (200, 404), response.content


@pytest.mark.parametrize(
    "path",
    [
        "items/%00/",
        "items/%ED%A0%80/",
        "items/BG0001A/",
        "items/nothing/",
        f"items/{'9' * 3000}/",
        "pickers/%00/kit/",
        "pickers/nobody/kit/",
    ],
)
def test_what_is_not_there_is_404(path: str, farm: Farm, client_of: SignIn) -> None:
    response = client_of("rosa").get(f"/api/{path}")
    assert (response.status_code, response.json()["code"]) == (404, "not_found")


@pytest.mark.parametrize("day", ["yesterday", "2026-02-30", "9999-12-31", "0001-01-01", "\x00"])
def test_a_day_that_is_none_is_400(day: str, farm: Farm, client_of: SignIn) -> None:
    response = client_of("rosa").get(f"/api/pickers/{farm.badges['ana']}/kit/", {"date": day})
    assert response.status_code == 400, response.content


@pytest.mark.parametrize(
    "query", ["kind=%00", "place=heaven", "fit=perhaps", "crew=%00", "limit=-1", "limit=x", "search=%00"]
)
def test_filters_that_make_no_sense_never_fail(query: str, farm: Farm, client_of: SignIn) -> None:
    for path in ("items", "pickers"):
        assert client_of("rosa").get(f"/api/{path}/?{query}").status_code in (200, 400)


@pytest.mark.parametrize(
    "query", ["limit=0", "limit=-1", "limit=x", "limit=", "fit=perhaps", "fit=", "place="]
)
def test_what_the_description_does_not_allow_is_400(query: str, farm: Farm, client_of: SignIn) -> None:
    """Found by Schemathesis: such words were passed over, and the whole list came."""
    response = client_of("rosa").get(f"/api/items/?{query}")
    assert (response.status_code, response.json()["code"]) == (400, "unreadable")


def test_more_than_the_most_gives_the_most(farm: Farm, client_of: SignIn) -> None:
    farm.gear("bag", 3)
    assert len(client_of("rosa").get("/api/items/?limit=999999&fit=true").json()["results"]) == 3
    assert client_of("rosa").get("/api/items/?fit=false").json()["results"] == []
    assert len(client_of("rosa").get("/api/items/?limit=2").json()["results"]) == 2


def test_an_empty_day_is_none(farm: Farm, client_of: SignIn) -> None:
    assert client_of("rosa").get(f"/api/pickers/{farm.badges['ana']}/kit/?date=").status_code == 400


@pytest.mark.parametrize("device", [0, False, 7, 2**64, None, [], "7"])
def test_a_device_is_named_by_a_uuid_as_text(device: Any, farm: Farm, client_of: SignIn) -> None:
    """Found by Schemathesis: 0 made a device of its own."""
    before = Device.objects.count()
    response = client_of("rosa").post("/api/entries/", farm.batch([], device=device), format="json")
    assert (response.status_code, Device.objects.count()) == (400, before)


def test_no_detail_is_longer_than_a_person_would_write(farm: Farm, post: Post) -> None:
    """The book is for ever: whoever has a token shall not fill it."""
    (bag,) = farm.gear("bag", days_ago=1)
    hand = {"item": bag, "picker": farm.badges["ana"], "note": "she asked"}
    (many,) = post(farm.entry("handed_out", **hand, detail={"overridden": ["wrong_size"] * 21}), gate="note")
    (long,) = post(farm.entry("handed_out", **hand, detail={"waived": "x" * 201}), gate="note")
    assert {many["code"], long["code"]} == {"malformed"}
    (fits,) = post(farm.entry("handed_out", **hand, detail={"overridden": ["wrong_size"] * 20}), gate="note")
    assert fits["outcome"] == "recorded"


def test_no_inspection_lists_dates_without_end(farm: Farm, post: Post) -> None:
    (kit,) = farm.gear("first_aid_kit", days_ago=1)
    dates = {f"thing {n}": "2027-01-01" for n in range(51)}
    detail = {"checklist": "first_aid_kit", "answers": {}, "expiries": dates}
    (answer,) = post(farm.entry("inspected", item=kit, detail=detail), gate="note")
    assert (answer["outcome"], answer["code"]) == ("refused", "malformed")
    assert "expiries" in answer["say"] or "expiries" in str(answer), answer
