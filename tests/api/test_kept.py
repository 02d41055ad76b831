"""Notes that name what is not known yet are kept, and go in by themselves when it appears."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from crews.models import Badge, Crew, Picker
from equipment.actions.change_crew import join
from equipment.actions.lend_badge import lend_day_card, lend_new
from equipment.actions.register import Run, register
from equipment.actions.retag import retag
from equipment.actions.writing import new_id
from equipment.domain import codes
from equipment.models import Entry, ItemState, KeptEntry, Kind
from tests.cast import Farm, day_card
from tests.farm import Post

NEW = codes.make("BG", 8100)
CARD = codes.make(codes.BADGE, 8100)
Committed = Callable[..., Any]


def kept_code() -> str | None:
    return KeptEntry.objects.get().code if KeptEntry.objects.exists() else None


@pytest.fixture
def committed(django_capture_on_commit_callbacks: Committed) -> Committed:
    return lambda: django_capture_on_commit_callbacks(execute=True)


@pytest.mark.parametrize("way", ["the API", "the office", "a new label"])
def test_the_item_appears(way: str, farm: Farm, post: Post, committed: Committed) -> None:
    entry = farm.entry("handed_out", item=f"https://x.example/t/{NEW.lower()}", picker=farm.badges["ana"])
    (answer,) = post(entry, gate="note")
    assert (answer["outcome"], answer["code"], kept_code()) == ("refused", "unknown_item", "unknown_item")
    (old,) = farm.gear("bag", days_ago=2)
    with committed():
        if way == "the API":
            post(farm.entry("registered", item=NEW, detail={"kind": "bag", "store": "A"}))
        elif way == "the office":
            register(farm.pen(), [Run(Kind.objects.get(pk="bag"), "A", tag=NEW)])
        else:
            retag(farm.pen(), ItemState.objects.get(tag=old), NEW)
    assert Entry.objects.filter(pk=entry["id"]).exists()
    assert (ItemState.objects.get(tag=NEW).place, KeptEntry.objects.get().placed_at is None) == (
        "picker",
        False,
    )
    assert post(entry, gate="note")[0]["outcome"] == "known"


@pytest.mark.parametrize("way", ["a day card", "a new card", "the first crew"])
def test_the_card_or_the_crew_of_its_picker_appears(
    way: str, farm: Farm, post: Post, committed: Committed
) -> None:
    (tag,) = farm.gear("bag", days_ago=1)
    dora = Picker.objects.create(number="9", name="Dora")
    code = {"a day card": day_card().pk, "the first crew": lend_new([dora], timezone.localdate())[0].pk}.get(
        way, CARD
    )
    if way != "the first crew":
        join(farm.pen(), [dora], farm.crews["red"])
    entry = farm.entry("handed_out", item=tag, picker=code)
    expected = "unknown_crew" if way == "the first crew" else "unknown_picker"
    assert post(entry, gate="note")[0]["code"] == expected == kept_code()
    with committed():
        if way == "a day card":
            lend_day_card(Badge.objects.get(pk=code), dora, timezone.localdate())
        elif way == "a new card":
            from equipment.actions.lend_badge import lend_these

            lend_these([(dora, CARD)], timezone.localdate())
        else:
            join(farm.pen(), [dora], farm.crews["red"])
    assert ItemState.objects.get(tag=tag).picker == dora


def test_the_crew_appears(farm: Farm, post: Post, committed: Committed) -> None:
    from equipment.actions.importing import import_list

    (tag,) = farm.gear("ladder", days_ago=1)
    code = codes.make(codes.CREW, 77)
    post(farm.entry("handed_out", item=tag, crew=code), gate="note")
    assert kept_code() == "unknown_crew"
    with committed():
        text = f"name,store,code\nGreen crew,A,{code}\n"
        assert not import_list("crews", text.encode(), farm.users["rosa"], timezone.now()).bad
    assert (Crew.objects.get(pk=code).name, ItemState.objects.get(tag=tag).crew_id) == ("Green crew", code)


def test_a_chain_of_unknowns_goes_in_step_by_step(farm: Farm, post: Post, committed: Committed) -> None:
    dora = Picker.objects.create(number="9", name="Dora")
    join(farm.pen(), [dora], farm.crews["red"])
    entry = farm.entry("handed_out", item=NEW, picker=CARD)
    post(entry, gate="note")
    with committed():
        register(farm.pen(), [Run(Kind.objects.get(pk="bag"), "A", tag=NEW)])
    assert kept_code() == "unknown_picker"
    from equipment.actions.lend_badge import lend_these

    with committed():
        lend_these([(dora, CARD)], timezone.localdate())
    assert Entry.objects.filter(pk=entry["id"]).exists()


def test_many_that_are_hopeless_never_stand_in_the_way(farm: Farm, post: Post) -> None:
    hopeless = [farm.entry("missed", item=codes.make("BG", 20_000 + n)) for n in range(499)]
    post(*hopeless, gate="note")
    post(*[farm.entry("missed", item=codes.make("CL", 20_000 + n)) for n in range(100)], gate="note")
    last = farm.entry("missed", item=NEW)
    post(last, gate="note")
    post(farm.entry("registered", item=NEW, detail={"kind": "bag", "store": "A"}))
    assert Entry.objects.filter(pk=last["id"]).exists()


def test_a_kept_id_is_not_used_up(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag")
    entry = farm.entry("missed", item=NEW)
    post(entry, gate="note")
    assert post(entry | {"item": tag}, gate="note")[0]["outcome"] == "recorded"
    assert KeptEntry.objects.get().placed_at is not None  # nobody need look at it any more


def test_a_kept_note_is_not_lost_where_another_takes_its_number(farm: Farm, post: Post) -> None:
    """Who wrote it may put it right under its own number, see above; nobody else."""
    (bag,) = farm.gear("bag", days_ago=1)
    note = farm.entry("missed", item=NEW)
    post(note, gate="note")
    assert post(note | {"item": bag}, gate="note", device=str(new_id()))[0]["outcome"] == "recorded"
    kept = KeptEntry.objects.get()
    assert (kept.code, kept.placed_at) == ("id_reused", None)
    post(farm.entry("registered", item=NEW, detail={"kind": "bag", "store": "A"}))
    assert KeptEntry.objects.waiting().exists(), "a person sees to it"


def test_a_kept_note_that_is_written_by_another_device_needs_nobody_any_more(farm: Farm, post: Post) -> None:
    note = farm.entry("missed", item=NEW)
    post(note, gate="note")
    KeptEntry.objects.update(code="malformed")  # so that it is not tried by itself
    post(farm.entry("registered", item=NEW, detail={"kind": "bag", "store": "A"}))
    again = note | {"queued": True}
    assert post(again, gate="note", device=str(new_id()))[0]["outcome"] == "recorded"
    assert KeptEntry.objects.get().placed_at is not None


def test_at_the_counter_nothing_is_kept_and_nothing_tried_again(farm: Farm, post: Post) -> None:
    entry = farm.entry("missed", item=NEW)
    post(entry)
    assert kept_code() is None
    post(farm.entry("registered", item=NEW, detail={"kind": "bag", "store": "A"}))
    assert not Entry.objects.filter(pk=entry["id"]).exists()


def test_one_that_fails_never_stops_the_rest_nor_what_it_waited_for(
    farm: Farm, post: Post, monkeypatch: Any
) -> None:
    from django.db import DatabaseError

    from equipment.actions import receive as module

    bad, good = farm.entry("missed", item=NEW), farm.entry("missed", item=NEW)
    post(bad, good, gate="note")
    tried = module._tried

    def stumble(part: Any, found: Any, *, keep: bool) -> Any:
        if not keep and part.batch.entries[0]["id"] == bad["id"]:
            raise DatabaseError("the disk is full")
        return tried(part, found, keep=keep)

    monkeypatch.setattr(module, "_tried", stumble)
    (answer,) = post(farm.entry("registered", item=NEW, detail={"kind": "bag", "store": "A"}))
    assert answer["outcome"] == "recorded"
    assert Entry.objects.filter(pk=good["id"]).exists()
    assert not Entry.objects.filter(pk=bad["id"]).exists()


def test_a_supervisors_kept_note_still_minds_their_rights(farm: Farm, post: Post) -> None:
    """Kept by Sam, who may not say it of another's crew: the item's appearing changes nothing in that."""
    entry = farm.entry("handed_out", item=NEW, picker=farm.badges["ana"], at=timezone.now() + timedelta(0))
    post(entry, name="sam", gate="note")
    join(farm.pen(), [farm.pickers["ana"]], farm.crews["blue"], at=timezone.now() - timedelta(days=1))
    post(farm.entry("registered", item=NEW, detail={"kind": "bag", "store": "A"}))
    assert kept_code() == "no_right"
