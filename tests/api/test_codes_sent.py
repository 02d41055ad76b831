"""What a scanner may send in place of a tag, and what the book makes of it."""

import pytest

from equipment.actions.writing import new_id
from equipment.domain import codes
from equipment.models import Entry, ItemState
from tests.cast import Farm
from tests.farm import Post

WAYS = {
    "lower case": str.lower,
    "a URL of another host": lambda tag: f"https://tags.example.org/t/{tag}",
    "a URL in lower case with a query": lambda tag: f"http://10.0.0.7:8000/t/{tag.lower()}/?from=label#top",
    "blanks and a line end": lambda tag: f"  {tag}\r\n",
    "an AIM identifier before": lambda tag: f"]Q3{tag}",
    "marks around": lambda tag: f"*{tag}*",
}


@pytest.mark.parametrize("way", WAYS)
def test_a_tag_is_read_however_it_comes(way: str, farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag")
    sent = farm.entry("handed_out", item=WAYS[way](tag), picker=WAYS[way](farm.badges["ana"]))
    (answer,) = post(sent)
    assert answer["outcome"] == "recorded", answer["say"]
    assert (answer["state"]["tag"], answer["state"]["picker"]) == (tag, farm.badges["ana"])


def misread(code: str) -> str:
    return code[:-1] + ("A" if code[-1] != "A" else "B")


@pytest.mark.parametrize("gate", ["hold", "note"])
@pytest.mark.parametrize(
    ("field", "code"), [("item", "wrong_check"), ("picker", "wrong_check"), ("crew", "wrong_check")]
)
def test_a_wrong_check_character_is_told_from_an_unknown_code(
    field: str, code: str, gate: str, farm: Farm, post: Post
) -> None:
    (tag,) = farm.gear("bag")
    named = {"item": tag, "picker": farm.badges["ana"], "crew": farm.crews["red"].pk}
    named[field] = misread(named[field])
    (answer,) = post(farm.entry("handed_out", **named), gate=gate)
    assert (answer["outcome"], answer["code"]) == ("refused", code)
    assert named[field] in answer["say"]
    assert ItemState.objects.get(tag=tag).place == "store"


UNKNOWN = {
    "item": (codes.make("BG", 7777), "unknown_item"),
    "picker": (codes.make("PK", 7777), "unknown_picker"),
    "crew": (codes.make("CW", 7777), "unknown_crew"),
    "bath": (str(new_id()), "unknown_bath"),
    "block": ("Z9", "malformed"),
}


@pytest.mark.parametrize("gate", ["hold", "note"])
@pytest.mark.parametrize("field", UNKNOWN)
def test_what_is_not_known_is_named(field: str, gate: str, farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag")
    before = Entry.objects.count()
    text, code = UNKNOWN[field]
    named = {"item": tag, "picker": farm.badges["ana"], field: text}
    (answer,) = post(farm.entry("handed_out", **named), gate=gate)
    assert (answer["outcome"], answer["code"]) == ("refused", code)
    assert field == "bath" or text in answer["say"]
    assert Entry.objects.count() == before


@pytest.mark.parametrize("verb", ["reversed", "settled"])
def test_a_bath_nobody_mixed_has_no_lines(verb: str, farm: Farm, post: Post) -> None:
    """A line of a bath alone has neither item nor crew to be folded with."""
    detail = {"entry": str(new_id())} if verb == "reversed" else {"key": "x", "choice": "y"}
    (answer,) = post(farm.entry(verb, bath=str(new_id()), detail=detail), gate="note")
    assert answer["code"] == "unknown_bath"


def test_a_badge_is_no_tag_and_a_tag_is_no_badge(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag")
    swapped = farm.entry("handed_out", item=farm.badges["ana"], picker=tag)
    crew = farm.entry("handed_out", item=tag, picker=farm.crews["red"].pk)
    assert [a["code"] for a in post(swapped, crew)] == ["unknown_item", "unknown_picker"]


def test_an_old_code_still_finds_the_item(farm: Farm, post: Post) -> None:
    (old,) = farm.gear("bag")
    new = codes.make("BG", 8001)
    again, out = farm.entry("retagged", item=old, detail={"tag": new.lower()}), farm.entry("missed", item=old)
    assert [a["outcome"] for a in post(again, out)] == ["recorded", "recorded"]
    (found,) = post(farm.entry("found", item=f"https://farm.example/t/{new}"))
    assert (found["outcome"], found["state"]["tag"]) == ("recorded", new)


NOT_TAGS = ["PK0001", "CW0001", "ST0001", "CT0001"]


@pytest.mark.parametrize("prefix", ["PK", "CW", "ST", "CT"])
def test_what_is_a_card_or_a_crew_or_a_set_never_becomes_a_tag(prefix: str, farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag")
    other = codes.make(prefix, 4321)
    answers = post(
        farm.entry("retagged", item=tag, detail={"tag": other}),
        farm.entry("registered", item=other, detail={"kind": "bag", "store": "A"}),
        farm.entry("retagged", item=tag, detail={"tag": "a sticker"}),
        farm.entry("retagged", item=tag, detail={"tag": misread(codes.make("BG", 5000))}),
    )
    assert [a["code"] for a in answers] == ["malformed", "malformed", "malformed", "wrong_check"]
    assert other in answers[0]["say"]


@pytest.mark.parametrize("gate", ["hold", "note"])
def test_a_tag_that_is_taken_is_not_given_again(gate: str, farm: Farm, post: Post) -> None:
    mine, taken = farm.gear("bag", 2)
    answers = post(
        farm.entry("retagged", item=mine, detail={"tag": taken}),
        farm.entry("registered", item=taken, detail={"kind": "bag", "store": "A"}),
        gate=gate,
    )
    assert [a["code"] for a in answers] == ["malformed", "malformed"]
    assert all(taken in a["say"] and "already" in a["say"] for a in answers)
    assert ItemState.objects.get(tag=mine).item_id != ItemState.objects.get(tag=taken).item_id


def test_a_tag_is_given_once_within_one_batch_too(farm: Farm, post: Post) -> None:
    new = codes.make("BG", 8002)
    twice = [farm.entry("registered", item=new, detail={"kind": "bag", "store": "A"}) for _ in range(2)]
    answers = post(*twice, farm.entry("handed_out", item=new, picker=farm.badges["ana"]))
    assert [a["outcome"] for a in answers] == ["recorded", "refused", "recorded"]
    assert str(ItemState.objects.get(tag=new).item_id) == twice[0]["id"]


def test_an_item_written_off_stays_where_it_is(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag")
    post(farm.entry("written_off", item=tag, detail={"circumstance": "worn_out"}))
    for verb, fields in {
        "handed_out": {"picker": farm.badges["ana"]},
        "returned": {},
        "moved": {"detail": {"to": "B"}},
        "missed": {},
        "found": {},
        "packed": {"detail": {"set": codes.make("ST", 1)}},
        "written_off": {"detail": {"circumstance": "lost"}},
    }.items():
        (answer,) = post(farm.entry(verb, item=tag, **fields))
        assert (answer["outcome"], answer["code"]) == ("refused", "written_off"), verb
        assert (tag in answer["say"], answer["state"]["place"]) == (True, "gone")


def test_an_item_of_another_store_is_not_handed_out_here(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag", store="B")
    (no,) = post(farm.entry("handed_out", item=tag, picker=farm.badges["ana"]))
    assert (no["code"], no["state"]["store"]) == ("other_store", "B")
    assert "store B" in no["say"]
    moved, out = post(
        farm.entry("moved", item=tag, detail={"to": " a "}),
        farm.entry("handed_out", item=tag, picker=farm.badges["ana"]),
    )
    assert (moved["outcome"], out["outcome"]) == ("recorded", "recorded")
