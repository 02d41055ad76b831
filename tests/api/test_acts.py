"""What belongs to one act is recorded whole or not at all at the counter; as a note each stands for itself."""

import pytest

from equipment.actions.writing import new_id
from equipment.domain import codes
from equipment.models import Entry, ItemState
from tests.cast import Farm
from tests.farm import Post


def spoil(farm: Farm, tag: str, how: str) -> dict[str, object]:
    """The part of an act that goes wrong, each time at another stage."""
    ben = {"picker": farm.badges["ben"]}
    return {
        "out already": lambda: farm.entry("handed_out", item=tag, **ben),
        "unknown": lambda: farm.entry("handed_out", item=codes.make("BG", 7777), **ben),
        "misread": lambda: farm.entry("handed_out", item=tag[:-1] + ("A" if tag[-1] != "A" else "B"), **ben),
        "malformed": lambda: farm.entry("handed_out", item=tag, **ben, detail={"waived": 3}),
        "no verb": lambda: farm.entry("lent", item=tag),
        "no right": lambda: farm.entry("written_off", item=tag, detail={"circumstance": "lost"}),
    }[how]()


@pytest.mark.parametrize("how", ["out already", "unknown", "misread", "malformed", "no verb", "no right"])
def test_one_that_is_refused_takes_the_whole_act_with_it(how: str, farm: Farm, post: Post) -> None:
    free, taken = farm.gear("bag", 2)
    post(farm.entry("handed_out", item=taken, picker=farm.badges["ana"]))
    before, act = Entry.objects.count(), str(new_id())
    good = farm.entry("handed_out", item=free, picker=farm.badges["ben"], act=act)
    bad = spoil(farm, taken, how) | {"act": act.upper()}
    alone = farm.entry("returned", item=taken)
    name = "sam" if how == "no right" else "rosa"
    answers = post(good, bad, alone, name=name)
    assert [a["outcome"] for a in answers] == ["refused", "refused", "recorded"], answers
    assert answers[0]["code"] == "act_refused" != answers[1]["code"]
    assert free in answers[0]["say"]
    assert Entry.objects.count() == before + 1
    assert ItemState.objects.get(tag=free).place == "store"


@pytest.mark.parametrize("how", ["unknown", "malformed"])
def test_notes_of_one_act_stand_each_for_itself(how: str, farm: Farm, post: Post) -> None:
    free, taken = farm.gear("bag", 2)
    act = str(new_id())
    good = farm.entry("handed_out", item=free, picker=farm.badges["ben"], act=act)
    answers = post(good, spoil(farm, taken, how) | {"act": act}, gate="note")
    assert [a["outcome"] for a in answers] == ["recorded", "refused"]


def test_an_act_may_be_sent_again(farm: Farm, post: Post) -> None:
    act = str(new_id())
    tags = farm.gear("bag", 3)
    pieces = [farm.entry("handed_out", item=t, picker=farm.badges["ana"], act=act) for t in tags]
    assert {a["outcome"] for a in post(*pieces)} == {"recorded"}
    assert {a["outcome"] for a in post(*pieces)} == {"known"}


def test_an_act_may_do_two_things_with_one_item_and_undoes_both(farm: Farm, post: Post) -> None:
    """A change of hands by way of the counter; the second time Ben has it already."""
    mine, other = farm.gear("bag", 2)
    post(farm.entry("handed_out", item=mine, picker=farm.badges["ana"]))
    post(farm.entry("handed_out", item=other, picker=farm.badges["cy"]))

    def pieces(*wanted: str) -> list[dict[str, object]]:
        act = str(new_id())
        both = [
            farm.entry("returned", item=mine),
            farm.entry("handed_out", item=mine, picker=farm.badges["ben"]),
        ]
        more = [farm.entry("handed_out", item=tag, picker=farm.badges["ben"]) for tag in wanted]
        return [entry | {"act": act} for entry in [*both, *more]]

    assert [a["code"] for a in post(*pieces(other))] == ["act_refused", "act_refused", "already_out"]
    assert ItemState.objects.get(tag=mine).picker == farm.pickers["ana"]
    assert [a["outcome"] for a in post(*pieces())] == ["recorded", "recorded"]
    assert ItemState.objects.get(tag=mine).picker == farm.pickers["ben"]
