"""Ids: sending again is harmless, another content under the same id is not taken, and nothing is said to be in the book
that is not."""

from typing import Any

import pytest

from equipment.actions.writing import new_id
from equipment.models import Attempt, Entry, KeptEntry, Note
from tests.cast import Farm
from tests.farm import Post

CHANGES: dict[str, dict[str, Any]] = {
    "another picker": {"picker": "ben"},
    "another time": {"at_second": 1},
    "another detail": {"detail": {"waived": "gloves"}},
    "a note": {"note": "swapped"},
    "another number": {"device_seq": 99},
    "another verb": {"verb": "missed"},
}


@pytest.mark.parametrize("gate", ["hold", "note"])
@pytest.mark.parametrize("change", CHANGES)
def test_another_content_under_the_same_id_is_refused(change: str, gate: str, farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag")
    entry = farm.entry("handed_out", item=tag, picker=farm.badges["ana"], note="")
    post(entry)
    other = entry | {k: v for k, v in CHANGES[change].items() if k != "at_second"}
    if change == "another picker":
        other["picker"] = farm.badges["ben"]
    if change == "another time":
        other["happened_at"] = entry["happened_at"].replace("+00:00", "Z")
    (answer,) = post(other, gate=gate)
    assert (answer["outcome"], answer["code"]) == ("refused", "id_reused")
    assert Entry.objects.filter(pk=entry["id"], verb="handed_out").count() == 1


def test_in_one_batch_each_is_compared_with_the_book_by_itself(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag")
    entry = farm.entry("handed_out", item=tag, picker=farm.badges["ana"])
    post(entry)
    answers = post(entry, entry | {"picker": farm.badges["ben"]}, entry, gate="note")
    assert [a.get("code", a["outcome"]) for a in answers] == ["known", "id_reused", "known"]
    assert KeptEntry.objects.get().code == "id_reused"


@pytest.mark.parametrize("gate", ["hold", "note"])
def test_the_second_of_two_is_not_known_where_the_first_was_refused(
    gate: str, farm: Farm, post: Post
) -> None:
    entry = farm.entry("handed_out", item="BG7777X", picker=farm.badges["ana"])
    answers = post(entry, entry, entry | {"picker": farm.badges["ben"]}, gate=gate)
    assert [a["outcome"] for a in answers] == ["refused"] * 3
    assert answers[0] == answers[1]


def test_a_refused_id_is_not_used_up(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag")
    first = farm.entry("handed_out", item=tag, picker=farm.badges["ana"])
    post(first)
    second = farm.entry("handed_out", item=tag, picker=farm.badges["ben"])
    assert post(second)[0]["code"] == "already_out"
    assert Attempt.objects.get().codes == ["already_out"]
    post(farm.entry("reversed", item=tag, detail={"entry": first["id"]}))
    assert post(second)[0]["outcome"] == "recorded"


def test_the_note_belongs_to_the_content_until_it_is_erased(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag")
    entry = farm.entry("missed", item=tag, note="left in row nine")
    post(entry)
    assert post(entry)[0]["outcome"] == "known"
    assert post(entry | {"note": "left in row ten"})[0]["code"] == "id_reused"
    assert post({k: v for k, v in entry.items() if k != "note"})[0]["code"] == "id_reused"
    Note.objects.update(text="", salt="", erased_at="2026-06-01T00:00:00Z")
    assert post(entry)[0]["outcome"] == "known"


def test_what_the_server_wrote_itself_cannot_be_sent(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag")
    own = Entry.objects.get(verb="registered")
    assert post(farm.entry("missed", item=tag, id=own.pk))[0]["code"] == "id_reused"


def test_a_whole_day_sent_again_is_known_in_a_handful_of_queries(
    farm: Farm,
    post: Post,
    client_of,  # type: ignore[no-untyped-def]
    django_assert_max_num_queries,  # type: ignore[no-untyped-def]
    no_counter_at_work: None,
) -> None:
    tags = farm.gear("bag", 30)
    day = [farm.entry("handed_out", item=t, picker=farm.badges["ana"], note="spare") for t in tags]
    assert {a["outcome"] for a in post(*day, gate="note")} == {"recorded"}
    client = client_of("rosa")
    with django_assert_max_num_queries(14):
        answers = client.post("/api/entries/", farm.batch(day, "note"), format="json").json()["answers"]
    assert {a["outcome"] for a in answers} == {"known"}


def test_ids_are_read_in_capitals_too(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag")
    entry = farm.entry("missed", item=tag)
    assert post(entry | {"id": entry["id"].upper()})[0]["outcome"] == "recorded"
    assert Entry.objects.filter(pk=entry["id"]).exists()
    assert post(farm.entry("found", item=tag, id=new_id()))[0]["outcome"] == "recorded"
