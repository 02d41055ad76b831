"""Whatever JSON an entry is: it gets one answer, the rest of its batch is not harmed, and nothing of it is lost."""

import json
from typing import Any

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from rest_framework.test import APIClient

from equipment.actions.writing import new_id
from equipment.domain.verbs import VERBS
from equipment.models import Entry, KeptEntry
from tests.cast import Farm
from tests.farm import Post

SLOWLY = settings(
    max_examples=120,
    suppress_health_check=[
        HealthCheck.function_scoped_fixture,
        HealthCheck.too_slow,
        HealthCheck.data_too_large,
    ],
)

texts = st.text(st.characters(), max_size=12) | st.sampled_from(
    ["\x00", "\ud800", "\udfff\ud800", "%s %(tag)s {x}", "’"]
)
numbers = st.integers(-(2**70), 2**70) | st.floats() | st.sampled_from([10**400, 1e308, -0.0, 2**53, 5e-324])
plain = st.none() | st.booleans() | numbers | texts
anything = st.recursive(
    plain, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(texts, inner, max_size=3)
)
FIELDS = "id verb item crew bath picker block act happened_at device_seq queued note detail".split()
DETAIL = "kind store make size hand price bought_on tag from waived overridden set to block counted entry key choice"


def nested(depth: int) -> Any:
    value: Any = 1
    for _ in range(depth):
        value = [value]
    return value


def send(client: APIClient, farm: Farm, gate: str, *entries: Any) -> list[dict[str, Any]]:
    text = json.dumps(farm.batch(entries, gate))
    response = client.post("/api/entries/", text, content_type="application/json")
    assert response.status_code == 200, (response.content, entries)
    answers: list[dict[str, Any]] = response.json()["answers"]
    assert len(answers) == len(entries)
    return answers


def is_json(value: Any) -> bool:
    """Python writes NaN and Infinity, which are no JSON: such a request is 400, as a whole."""
    try:
        json.dumps(value, allow_nan=False)
    except ValueError:
        return False
    return True


@pytest.mark.parametrize("gate", ["hold", "note"])
def test_any_value_at_all_in_place_of_an_entry(gate: str, farm: Farm, client_of: Any) -> None:
    client = client_of("rosa")
    (tag,) = farm.gear("bag")

    @SLOWLY
    @example(value=None)
    @example(value=nested(300))
    @example(value={"id": nested(300)})
    @given(value=anything.filter(is_json))
    def run(value: Any) -> None:
        good = farm.entry("moved", item=tag, detail={"to": "A"})
        before = Entry.objects.count()
        answers = send(client, farm, gate, value, good)
        assert [a["outcome"] for a in answers] == ["refused", "recorded"]
        assert answers[0]["code"] == "malformed"
        assert answers[0]["say"]
        assert Entry.objects.count() == before + 1
        if gate == "note":
            assert json.loads(KeptEntry.objects.latest("pk").raw) == value or KeptEntry.objects.count() > 1

    run()


@pytest.mark.parametrize("gate", ["hold", "note"])
def test_any_value_at_all_in_any_field_of_a_good_entry(gate: str, farm: Farm, client_of: Any) -> None:
    client = client_of("rosa")
    tag, other = farm.gear("bag", 2)

    @SLOWLY
    @given(field=st.sampled_from(FIELDS) | texts, value=anything)
    def run(field: str, value: Any) -> None:
        entry = farm.entry("handed_out", item=tag, picker=farm.badges["ana"]) | {field: value}
        if is_json(entry):
            (answer, fine) = send(
                client, farm, gate, entry, farm.entry("moved", item=other, detail={"to": "A"})
            )
            assert answer["outcome"] in ("recorded", "refused")
            assert "%" not in answer["say"] or "%" in json.dumps(entry)
            assert fine["outcome"] == "recorded"

    run()


@pytest.mark.parametrize("verb", sorted(VERBS))
def test_any_detail_of_every_verb(verb: str, farm: Farm, client_of: Any) -> None:
    client = client_of("rosa")
    (tag,) = farm.gear("bag")
    family = VERBS[verb].family
    subject = {"crew": farm.crews["red"].pk} if family == "crew" else {"item": tag}
    words = st.sampled_from(DETAIL.split()) | texts
    codes = st.sampled_from(
        [tag, "A", "N4", "bag", farm.badges["ana"], farm.crews["red"].pk, str(new_id()), "ST0001L"]
    )
    details = st.dictionaries(words, anything | codes, max_size=4) | anything

    @settings(SLOWLY, max_examples=25)
    @given(detail=details)
    def run(detail: Any) -> None:
        entry = farm.entry(verb, **subject, picker=farm.badges["ana"], block="N4") | {"detail": detail}
        if is_json(entry):
            (answer,) = send(client, farm, "note", entry)
            assert answer["outcome"] in ("recorded", "refused")
            assert answer["outcome"] == "recorded" or answer["code"] in (
                "malformed",
                "unknown_picker",
                "unknown_item",
                "wrong_check",
                # What is not a storeman's work: a flag, taking a crew over.
                "no_right",
            )

    run()


def test_nothing_refused_as_a_note_is_lost(farm: Farm, client_of: Any) -> None:
    client = client_of("rosa")
    junk: list[Any] = [{"id": 1, "verb": "\ud800\x00"}, ["\x00"], "text", None, 1.5, {"é": nested(11)}]
    assert {a["code"] for a in send(client, farm, "note", *junk)} == {"malformed"}
    kept = [json.loads(raw) for raw in KeptEntry.objects.order_by("pk").values_list("raw", flat=True)]
    assert kept == junk
    send(client, farm, "note", *junk)
    assert KeptEntry.objects.count() == len(junk)


@pytest.mark.parametrize("depth", [9, 50, 300])
def test_depth_never_fails_the_rest(depth: int, farm: Farm, client_of: Any) -> None:
    (tag,) = farm.gear("bag")
    deep = farm.entry("missed", item=tag, detail={"x": nested(depth)})
    answers = send(client_of("rosa"), farm, "note", deep, farm.entry("missed", item=tag))
    assert [a["outcome"] for a in answers] == ["refused", "recorded"]


def test_beyond_all_depth_the_request_is_unreadable_and_nothing_of_it_is_written(
    farm: Farm, client_of: Any
) -> None:
    """Somewhere in between Python gives up: wherever that is, it is not a 500."""
    client = client_of("rosa")
    (tag,) = farm.gear("bag")
    body = json.dumps(farm.batch([{"x": "HERE"}, farm.entry("missed", item=tag)], "note"))
    seen = set()
    for depth in range(700, 1100, 4):
        before = Entry.objects.count()
        deep = body.replace('"HERE"', "[" * depth + "]" * depth)
        response = client.post("/api/entries/", deep, content_type="application/json")
        seen.add(response.status_code)
        assert response.status_code == 200 or Entry.objects.count() == before
    assert seen == {200, 400}


LONG: dict[str, dict[str, Any]] = {
    "make": {"make": "x" * 61},
    "size": {"size": "x" * 21},
    "owner": {"owner": "x" * 81},
    "supplier": {"supplier": "x" * 81},
    "delivery": {"delivery": "x" * 61},
    "price": {"price": "123456789.00"},
    "negative price": {"price": -1},
    "three decimals": {"price": "1.005"},
    "no number": {"price": "NaN"},
    "day": {"bought_on": "2026-02-30"},
    "hand": {"hand": "both"},
    "unknown": {"colour": "green"},
}


@pytest.mark.parametrize("what", LONG)
def test_what_the_gear_list_cannot_hold_is_refused_before_it_is_written(
    what: str, farm: Farm, post: Post
) -> None:
    from equipment.domain import codes

    detail = {"kind": "bag", "store": "A", **LONG[what]}
    (answer,) = post(farm.entry("registered", item=codes.make("BG", 8888), detail=detail))
    assert (answer["outcome"], answer["code"]) == ("refused", "malformed")
    longest = {
        name: next(iter(LONG[name].values()))[1:]
        for name in ("make", "size", "owner", "supplier", "delivery")
    }
    fits = {
        "kind": "bag",
        "store": "A",
        "price": "12345678.90",
        "bought_on": "2026-02-28",
        "hand": "left",
        **longest,
    }
    assert (
        post(farm.entry("registered", item=codes.make("BG", 8888), detail=fits))[0]["outcome"] == "recorded"
    )
