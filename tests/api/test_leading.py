"""A supervisor's crews are those of the time that they tell of: their own, taken over, and pickers lent to them."""

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.utils import timezone

from crews.models import Device
from equipment.actions.importing import import_list
from equipment.domain import codes
from equipment.models import Entry, ItemState, KeptEntry, Membership
from tests.cast import Farm, user
from tests.farm import Post
from tests.orchards import signed_in

RED, BLUE = "red", "blue"


@pytest.fixture
def nine() -> datetime:
    return timezone.now() - timedelta(hours=3)


@pytest.fixture
def tom(farm: Farm) -> str:
    """He supervises the blue crew."""
    farm.users["tom"] = user("tom", "supervisor")
    farm.crews[BLUE].supervisor = farm.users["tom"]
    farm.crews[BLUE].save()
    return "tom"


@pytest.fixture
def phones(farm: Farm, tom: str) -> dict[str, str]:
    return {
        name: str(Device.objects.create(kind=Device.Kind.PHONE, name=name, store_id="A").pk)
        for name in ("sam", tom)
    }


def left(farm: Farm, at: datetime, colour: str = BLUE, **fields: Any) -> dict[str, Any]:
    return farm.entry("left", crew=farm.crews[colour].pk, at=at, **fields)


def taking(farm: Farm, at: datetime, **fields: Any) -> dict[str, Any]:
    return farm.entry("taken_over", crew=farm.crews[BLUE].pk, at=at, **fields)


def came(answers: list[dict[str, Any]]) -> list[str]:
    return [answer.get("code", answer["outcome"]) for answer in answers]


def test_from_the_taking_over_on(farm: Farm, post: Post, phones: dict[str, str], nine: datetime) -> None:
    hour = timedelta(hours=1)
    say = {"name": "sam", "gate": "note", "device": phones["sam"]}
    before, after = left(farm, nine - hour, device_seq=1), left(farm, nine + hour, device_seq=3)
    taken = taking(farm, nine, device_seq=2)
    assert came(post(before, taken, after, **say)) == ["no_right", "recorded", "recorded"]
    assert came(post(left(farm, nine + hour, device_seq=4), **say)) == ["recorded"]
    # Told by another of his devices, of the time before.
    other = str(Device.objects.create(kind=Device.Kind.PHONE).pk)
    assert came(post(left(farm, nine - hour), left(farm, nine + hour), **say | {"device": other})) == [
        "no_right",
        "recorded",
    ]


def test_until_another_takes_it_over_and_its_own_supervisor_always(
    farm: Farm, post: Post, phones: dict[str, str], tom: str, nine: datetime
) -> None:
    half = timedelta(minutes=30)
    assert came(post(taking(farm, nine), name="sam", gate="note", device=phones["sam"])) == ["recorded"]
    own = post(left(farm, nine + half), name=tom, gate="note", device=phones[tom])
    assert came(own) == ["recorded"]
    post(taking(farm, nine + 2 * half), name=tom, gate="note", device=phones[tom])
    late = [left(farm, nine + half), left(farm, nine + 3 * half)]
    assert came(post(*late, name="sam", gate="note", device=phones["sam"])) == ["recorded", "no_right"]


def test_a_taking_over_that_was_taken_back_gives_no_right(farm: Farm, post: Post, nine: datetime) -> None:
    taken = taking(farm, nine)
    post(taken, name="sam", gate="note")
    undo = farm.entry("reversed", crew=farm.crews[BLUE].pk, detail={"entry": taken["id"]})
    post(undo, name="sam", gate="note")
    assert came(post(left(farm, nine + timedelta(hours=1)), name="sam", gate="note")) == ["no_right"]


def test_a_clock_set_back_after_it_takes_nothing_away(
    farm: Farm, post: Post, phones: dict[str, str], nine: datetime
) -> None:
    taken, later = taking(farm, nine, device_seq=5), left(farm, nine - timedelta(hours=2), device_seq=6)
    assert came(post(taken, later, name="sam", gate="note", device=phones["sam"])) == ["recorded"] * 2


@pytest.mark.parametrize("together", [True, False])
def test_a_batch_that_is_shuffled_goes_in_all_the_same(
    together: bool, farm: Farm, post: Post, phones: dict[str, str], nine: datetime
) -> None:
    after, taken = left(farm, nine + timedelta(hours=1), device_seq=3), taking(farm, nine, device_seq=2)
    say = {"name": "sam", "gate": "note", "device": phones["sam"]}
    if together:
        assert came(post(after, taken, **say)) == ["recorded", "recorded"]
        return
    assert came(post(after, **say)) == ["no_right"]
    assert came(post(taken, **say)) == ["recorded"]
    assert KeptEntry.objects.get().placed_at is not None
    assert came(post(after, **say)) == ["known"]


def test_no_storeman_takes_a_crew_over_by_saying_so(farm: Farm, post: Post, nine: datetime) -> None:
    farm.users["sue"] = user("sue", "mender")
    assert came(post(taking(farm, nine), left(farm, nine), name="sue", gate="note")) == ["no_right"] * 2


def test_a_lent_picker_is_of_the_crew_from_then_on(farm: Farm, post: Post, nine: datetime) -> None:
    hour = timedelta(hours=1)
    spare, own = farm.gear("bag", 2, days_ago=1)
    cy, red = farm.badges["cy"], farm.crews[RED].pk
    morning = [farm.entry("handed_out", item=own, picker=cy, at=nine - hour)]
    morning += [farm.entry("handed_out", item=spare, crew=red, at=nine - hour)]
    assert came(post(*morning, gate="note")) == ["recorded"] * 2
    swap = [
        farm.entry("joined", crew=red, picker=cy, at=nine),
        farm.entry("fault_found", item=own, detail={"fault": "bag_hole"}, at=nine + hour),
        farm.entry("handed_out", item=own, crew=red, detail={"from": cy}, at=nine + hour),
        farm.entry("handed_out", item=spare, picker=cy, detail={"from": red}, at=nine + hour),
        farm.entry("parted", crew=red, picker=cy, at=nine + 2 * hour),
    ]
    assert came(post(*swap, name="sam", gate="note")) == ["recorded"] * 5
    state = ItemState.objects.get(tag=spare)
    assert (state.picker_id, state.crew_id) == (farm.pickers["cy"].pk, red)
    assert Membership.objects.current().get(picker=farm.pickers["cy"]).crew_id == farm.crews[BLUE].pk
    late = farm.entry("handed_out", item=own, picker=cy, at=nine + 2.5 * hour, detail={"from": red})
    assert came(post(late, name="sam", gate="note")) == ["no_right"]


def test_what_he_was_lent_before_it_was_told_goes_in_when_it_is_told(
    farm: Farm, post: Post, nine: datetime
) -> None:
    (spare,) = farm.gear("bag", days_ago=1)
    given = farm.entry("handed_out", item=spare, picker=farm.badges["cy"], at=nine + timedelta(minutes=5))
    assert came(post(given, name="sam", gate="note")) == ["no_right"]
    lent = farm.entry("joined", crew=farm.crews[RED].pk, picker=farm.badges["cy"], at=nine)
    assert came(post(lent, name="sam", gate="note")) == ["recorded"]
    assert Entry.objects.get(pk=given["id"]).crew_id == farm.crews[RED].pk


@pytest.mark.parametrize("way", ["the page", "a list"])
def test_who_led_a_crew_until_lately_still_tells_of_that_time(
    way: str, farm: Farm, post: Post, tom: str, nine: datetime
) -> None:
    red = farm.crews[RED]
    if way == "the page":
        changed = {"name": red.name, "store": "A", "supervisor": farm.users[tom].pk, "active": "on"}
        signed_in(farm, "frank").post(f"/crews/{red.pk}/", changed)
    else:
        text = f"name,store,supervisor\n{red.name},A,{tom}\n"
        assert not import_list("crews", text.encode(), farm.users["frank"], timezone.now()).bad
    red.refresh_from_db()
    assert red.supervisor == farm.users[tom]
    before, after = left(farm, nine, RED), left(farm, timezone.now() + timedelta(seconds=1), RED)
    assert came(post(before, after, name="sam", gate="note")) == ["recorded", "no_right"]
    assert came(post(left(farm, nine, RED), name=tom, gate="note")) == ["recorded"]


def test_what_another_crew_lost_may_be_found(farm: Farm, post: Post, nine: datetime) -> None:
    (tag,) = farm.gear("bag", days_ago=1)
    lost = [
        farm.entry("handed_out", item=tag, picker=farm.badges["cy"], at=nine),
        farm.entry("missed", item=tag, at=nine + timedelta(hours=1)),
    ]
    assert came(post(*lost, gate="note")) == ["recorded"] * 2
    in_the_grass = farm.entry("found", item=tag, crew=farm.crews[RED].pk)
    assert came(post(in_the_grass, name="sam")) == ["no_right"]
    assert came(post(farm.entry("found", item=tag), name="sam", gate="note")) == ["no_right"]
    assert came(post(in_the_grass, name="sam", gate="note")) == ["recorded"]
    assert ItemState.objects.get(tag=tag).crew_id == farm.crews[RED].pk


@pytest.mark.parametrize("what", ["item", "picker", "crew"])
def test_what_a_supervisor_names_and_nobody_knows_waits_for_it_to_appear(
    what: str, farm: Farm, post: Post, nine: datetime
) -> None:
    (tag,) = farm.gear("bag", days_ago=1)
    unknown = {
        "item": codes.make("BG", 8100),
        "picker": codes.make(codes.BADGE, 8100),
        "crew": codes.make(codes.CREW, 77),
    }
    verb = {"item": "fault_found", "picker": "handed_out", "crew": "handed_out"}[what]
    named = {
        "item": tag,
        **({"detail": {"fault": "bag_hole"}} if what == "item" else {}),
        what: unknown[what],
    }
    assert came(post(farm.entry(verb, at=nine, **named), name="sam", gate="note")) == [f"unknown_{what}"]
    assert KeptEntry.objects.get().code == f"unknown_{what}"


def test_the_role_of_a_kept_note_is_that_of_its_receipt(farm: Farm, post: Post, nine: datetime) -> None:
    after = left(farm, nine + timedelta(hours=1))
    assert came(post(after, name="sam", gate="note")) == ["no_right"]
    sam = farm.users["sam"]
    taken = farm.pen("sam").draft("taken_over", crew=farm.crews[BLUE].pk, happened_at=nine)
    farm.pen("sam").record([taken], "note")
    sam.groups.clear()
    from equipment.actions.receive import place_kept

    kept = KeptEntry.objects.select_related("by", "device").get()
    kept.by = type(sam).objects.get(pk=sam.pk)
    assert place_kept(kept, timezone.now()).outcome == "recorded"
