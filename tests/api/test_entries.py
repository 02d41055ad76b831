"""`POST /api/entries/`: every entry gets its own answer."""

from equipment.models import Entry, ItemState
from tests.cast import Farm
from tests.farm import Post


def test_a_pair_of_clippers_goes_out_and_comes_back(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("clippers")
    (out,) = post(farm.entry("handed_out", item=tag, picker=farm.badges["ana"]))
    assert out["outcome"] == "recorded"
    assert (out["state"]["place"], out["state"]["picker"]) == ("picker", farm.badges["ana"])
    (back,) = post(farm.entry("returned", item=tag))
    assert back["outcome"] == "recorded"
    assert ItemState.objects.get(tag=tag).place == "store"


def test_what_is_out_to_one_is_refused_to_another_until_a_change_of_hands(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag")
    post(farm.entry("handed_out", item=tag, picker=farm.badges["ana"]))
    (no,) = post(farm.entry("handed_out", item=tag, picker=farm.badges["ben"]))
    assert (no["outcome"], no["code"]) == ("refused", "already_out")
    assert farm.badges["ana"] in no["say"]
    changed = farm.entry(
        "handed_out", item=tag, picker=farm.badges["ben"], detail={"from": farm.badges["ana"]}
    )
    (yes,) = post(changed)
    assert (yes["outcome"], yes["state"]["picker"]) == ("recorded", farm.badges["ben"])


def test_sending_again_is_harmless_and_changing_the_content_is_not_taken(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag")
    entry = farm.entry("handed_out", item=tag, picker=farm.badges["ana"])
    assert [a["outcome"] for a in post(entry, entry)] == ["recorded", "known"]
    assert post({**entry, "queued": True}, gate="note")[0]["outcome"] == "known"
    assert post({**entry, "picker": farm.badges["ben"]})[0]["code"] == "id_reused"
    assert Entry.objects.filter(verb="handed_out").count() == 1


def test_a_note_is_taken_and_its_contradiction_listed(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag")
    post(farm.entry("handed_out", item=tag, picker=farm.badges["ana"]))
    (taken,) = post(farm.entry("handed_out", item=tag, picker=farm.badges["ben"]), gate="note")
    assert taken["outcome"] == "recorded"
    assert [d["code"] for d in taken["discrepancies"]] == ["already_out"]


def test_undo_puts_the_item_back(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag")
    entry = farm.entry("handed_out", item=tag, picker=farm.badges["ana"])
    post(entry)
    (undone,) = post(farm.entry("reversed", item=tag, detail={"entry": entry["id"]}))
    assert (undone["outcome"], undone["state"]["place"]) == ("recorded", "store")


def test_an_act_is_recorded_whole_or_not_at_all(farm: Farm, post: Post) -> None:
    free, taken = farm.gear("bag", 2)
    post(farm.entry("handed_out", item=taken, picker=farm.badges["ana"]))
    act = "01890000-0000-7000-8000-000000000001"
    answers = post(
        *(farm.entry("handed_out", item=tag, picker=farm.badges["ben"], act=act) for tag in (free, taken))
    )
    assert [a["code"] for a in answers] == ["act_refused", "already_out"]
    assert ItemState.objects.get(tag=free).place == "store"


def test_a_handout_costs_ten_queries(farm: Farm, client_of, django_assert_max_num_queries) -> None:  # type: ignore[no-untyped-def]
    (tag,) = farm.gear("bag")
    client = client_of("rosa")
    body = farm.batch([farm.entry("handed_out", item=tag, picker=farm.badges["ana"])])
    with django_assert_max_num_queries(12):  # ten, and the savepoint that stands for BEGIN and COMMIT here
        assert client.post("/api/entries/", body, format="json").json()["answers"][0]["outcome"] == "recorded"
