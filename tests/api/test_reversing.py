"""Taking back: what may be undone, by whom, and what stays for ever."""

import pytest

from equipment.actions.writing import new_id
from equipment.models import Discrepancy, Entry, ItemState
from tests.cast import Farm
from tests.farm import Post


def undo(farm: Farm, tag: str, entry: object) -> dict[str, object]:
    return farm.entry("reversed", item=tag, detail={"entry": str(entry)})


@pytest.mark.parametrize("gate", ["hold", "note"])
@pytest.mark.parametrize("what", ["nothing", "another item's", "a crew's", "a taking-back", "itself"])
def test_what_cannot_be_taken_back(what: str, gate: str, farm: Farm, post: Post) -> None:
    tag, other = farm.gear("bag", 2)
    out = farm.entry("handed_out", item=tag, picker=farm.badges["ana"])
    elsewhere = farm.entry("handed_out", item=other, picker=farm.badges["ana"])
    back = undo(farm, tag, out["id"])
    post(out, elsewhere, back)
    joined = Entry.objects.filter(verb="joined").first()
    assert joined
    own = str(new_id())
    target = {
        "nothing": str(new_id()),
        "another item's": elsewhere["id"],
        "a crew's": joined.pk,
        "a taking-back": back["id"],
        "itself": own,
    }[what]
    (answer,) = post(undo(farm, tag, target) | {"id": own}, gate=gate)
    if gate == "hold":
        assert (answer["outcome"], answer["code"]) == ("refused", "not_reversible")
    else:
        assert (answer["outcome"], answer["discrepancies"][0]["code"]) == ("recorded", "not_reversible")
        assert Discrepancy.objects.get().code == "not_reversible"
    assert ItemState.objects.get(tag=tag).place == "store"
    assert ItemState.objects.get(tag=other).place == "picker"


def test_a_taking_back_that_comes_first_is_explained_by_what_follows(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag", days_ago=1)
    out = farm.entry("handed_out", item=tag, picker=farm.badges["ana"])
    (early,) = post(undo(farm, tag, out["id"]), gate="note")
    assert [d["code"] for d in early["discrepancies"]] == ["not_reversible"]
    (late,) = post(out, gate="note")
    assert (late["outcome"], late["state"]["place"]) == ("recorded", "store")
    assert not Discrepancy.objects.exists()


def test_a_crews_line_is_taken_back_in_the_crew(farm: Farm, post: Post) -> None:
    red = farm.crews["red"].pk
    joined = farm.entry("joined", crew=red, picker=farm.badges["cy"])
    back = farm.entry("reversed", crew=red, detail={"entry": joined["id"]})
    assert [a["state"]["members"] for a in post(joined, back)] == [3, 2]


def test_twice_taken_back_is_once_taken_back(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag")
    out = farm.entry("handed_out", item=tag, picker=farm.badges["ana"])
    answers = post(out, undo(farm, tag, out["id"]), undo(farm, tag, out["id"]), gate="note")
    assert [a["outcome"] for a in answers] == ["recorded"] * 3
    assert ItemState.objects.get(tag=tag).place == "store"


def test_an_item_whose_registering_is_taken_back_is_gone(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag")
    item = ItemState.objects.get(tag=tag)
    post(undo(farm, tag, item.pk))
    item.refresh_from_db()
    assert (item.place, item.fit) == ("gone", False)
    (answer,) = post(farm.entry("handed_out", item=tag, picker=farm.badges["ana"]))
    assert (answer["outcome"], answer["code"]) == ("refused", "written_off")


@pytest.mark.parametrize(
    ("name", "verb", "may"),
    [
        ("rosa", "written_off", True),
        ("mo", "written_off", True),
        ("sam", "written_off", False),
        ("mo", "handed_out", False),
        ("frank", "handed_out", False),
        ("sam", "handed_out", True),
        ("olga", "moved", False),
        ("frank", "moved", True),
    ],
)
def test_who_may_not_do_a_thing_may_not_undo_it(
    name: str, verb: str, may: bool, farm: Farm, post: Post
) -> None:
    (tag,) = farm.gear("bag")
    post(farm.entry("handed_out", item=tag, picker=farm.badges["ana"]))
    ana, red = farm.badges["ana"], farm.crews["red"].pk
    done = {
        "written_off": farm.entry("written_off", item=tag, detail={"circumstance": "lost"}),
        "handed_out": farm.entry("handed_out", item=tag, crew=red, detail={"from": ana}),
        "moved": farm.entry("moved", item=farm.gear("bag")[0], detail={"to": "B"}),
    }[verb]
    assert post(done)[0]["outcome"] == "recorded"
    (answer,) = post(undo(farm, done["item"], done["id"]), name=name)
    assert (answer["outcome"], answer.get("code")) == (("recorded", None) if may else ("refused", "no_right"))
