"""Who may record what: every verb for every role, devices, and a supervisor's own crews in each verb."""

from typing import Any
from uuid import UUID

import pytest
from django.contrib.auth.models import Group
from django.utils import timezone

from crews import policy
from crews.models import Device
from crews.models.devices import PAPER_ID, SERVER_ID
from equipment.actions.change_crew import join
from equipment.actions.writing import new_id
from equipment.domain import codes
from equipment.domain.verbs import VERBS
from equipment.models import Entry
from tests.cast import ROLES, Farm, user
from tests.farm import Post

RED, BLUE = "red", "blue"


def a_line(verb: str, farm: Farm, colour: str, who: str) -> dict[str, Any]:
    """An entry that only a missing right can stand against: of the crew of that colour and one of its pickers."""
    (tag,) = farm.gear("bag", days_ago=1)
    badge, crew = farm.badges[who], farm.crews[colour].pk
    out = farm.pen().draft("handed_out", item=state(tag).item_id, crew=crew, picker=farm.pickers[who].pk)
    of_crew = {"joined", "parted", "waived"}
    if verb not in of_crew | {"registered", "packed", "moved", "handed_out"}:
        assert farm.pen().record([out]).outcomes[0].recorded
    if verb == "found":
        farm.pen().record([farm.pen().draft("missed", item=state(tag).item_id)])
    if verb in of_crew:
        return farm.entry(
            verb, crew=crew, picker=badge, detail={"kind": "gloves"} if verb == "waived" else {}
        )
    fields: dict[str, Any] = {
        "registered": {
            "item": codes.make("BG", 9000 + farm.sequence),
            "detail": {"kind": "bag", "store": "A"},
        },
        "retagged": {"detail": {"tag": codes.make("BG", 8000 + farm.sequence)}},
        "packed": {"detail": {"set": codes.make("ST", 1)}},
        "handed_out": {"picker": badge},
        "stowed": {"block": "N4", "detail": {"counted": 1}},
        "moved": {"detail": {"to": "B"}},
        "written_off": {"detail": {"circumstance": "lost"}},
        "reversed": {"detail": {"entry": str(out.id)}},
        "settled": {"detail": {"key": "already_out:x", "choice": "so"}},
    }.get(verb, {})
    return farm.entry(verb, **{"item": tag, **fields})


def state(tag: str) -> Any:
    from equipment.models import ItemState

    return ItemState.objects.get(tag=tag)


@pytest.mark.parametrize("verb", sorted(VERBS))
def test_each_verb_for_each_role(verb: str, farm: Farm, post: Post) -> None:
    for name, role in ROLES.items():
        entry = a_line(verb, farm, RED, "ana")
        may = role in policy.ACTIONS[VERBS[verb].action]
        if verb == "reversed":  # of a hand-out
            may = role in policy.ACTIONS["hand_out"]
        before = Entry.objects.count()
        (answer,) = post(entry, name=name)
        expected = ("recorded", None) if may else ("refused", "no_right")
        assert (answer["outcome"], answer.get("code")) == expected, (name, answer["say"])
        assert Entry.objects.count() == before + may
        if verb == "parted" and may:
            join(farm.pen(), [farm.pickers["ana"]], farm.crews[RED])


OF_SUPERVISORS = sorted(v for v, verb in VERBS.items() if policy.SUPERVISOR in policy.ACTIONS[verb.action])


@pytest.mark.parametrize("verb", OF_SUPERVISORS)
def test_a_supervisor_acts_for_their_own_crews_only(verb: str, farm: Farm, post: Post) -> None:
    for who, gate in (("ana", "hold"), ("ben", "note")):
        (own,) = post(a_line(verb, farm, RED, who), name="sam", gate=gate)
        (foreign,) = post(a_line(verb, farm, BLUE, "cy"), name="sam", gate=gate)
        assert own["outcome"] == "recorded", own["say"]
        assert (foreign["outcome"], foreign["code"]) == ("refused", "no_right")


def test_nor_by_way_of_another_reference(farm: Farm, post: Post) -> None:
    """An own crew named beside a foreign picker, or beside an item that another crew has, opens nothing."""
    red, cy = farm.crews[RED].pk, farm.badges["cy"]
    theirs, free = farm.gear("bag", 2, days_ago=1)
    post(farm.entry("handed_out", item=theirs, picker=cy))
    for entry in (
        farm.entry("handed_out", item=free, picker=cy, crew=red),
        farm.entry("handed_out", item=theirs, crew=red, detail={"from": cy}),
        farm.entry(
            "handed_out", item=theirs, picker=farm.badges["ana"], detail={"from": farm.crews[BLUE].pk}
        ),
        farm.entry("returned", item=theirs, crew=red),
        farm.entry("missed", item=theirs, crew=red),
        farm.entry("stowed", item=theirs, crew=red, block="N4", detail={"counted": 1}),
        farm.entry("joined", crew=red, picker=cy),
        farm.entry("missed", item=free),
    ):
        (answer,) = post(entry, name="sam", gate="note")
        assert (answer["outcome"], answer["code"]) == ("refused", "no_right"), entry


def test_a_supervisors_late_note_counts_by_the_crew_of_then(farm: Farm, post: Post) -> None:
    """Ana picked for Sam in the morning and for the blue crew since; his phone finds the network at night."""
    morning = timezone.now().replace(microsecond=0) - timezone.timedelta(hours=2)
    hers, shared = farm.gear("bag", 2, days_ago=1)
    early = farm.entry("handed_out", item=shared, picker=farm.badges["ana"], at=morning, device_seq=1)
    back = farm.entry("returned", item=shared, at=morning + timezone.timedelta(minutes=30), device_seq=2)
    join(farm.pen(), [farm.pickers["ana"]], farm.crews[BLUE])
    post(farm.entry("handed_out", item=shared, picker=farm.badges["cy"], device_seq=99))
    phone = str(Device.objects.create(kind=Device.Kind.PHONE, owner=farm.users["sam"]).pk)
    answers = post(early, back, name="sam", gate="note", device=phone)
    assert [a["outcome"] for a in answers] == ["recorded", "recorded"], answers
    late = farm.entry("handed_out", item=hers, picker=farm.badges["ana"])
    assert post(late, name="sam", gate="note", device=phone)[0]["code"] == "no_right"


def test_a_supervisor_who_keeps_the_store_as_well_is_not_limited(farm: Farm, post: Post) -> None:
    farm.users["sam"].groups.add(Group.objects.get(name=policy.STOREMAN))
    (answer,) = post(a_line("handed_out", farm, BLUE, "cy"), name="sam")
    assert answer["outcome"] == "recorded"
    (joined,) = post(a_line("joined", farm, BLUE, "cy"), name="sam")
    assert joined["outcome"] == "recorded"


def test_someone_without_any_role_does_and_sees_nothing(farm: Farm, client_of: Any) -> None:
    farm.users["nobody"] = user("nobody", policy.MENDER)
    farm.users["nobody"].groups.clear()
    client = client_of("nobody")
    assert client.post("/api/entries/", farm.batch([]), format="json").status_code == 403
    assert client.get("/api/items/").json()["code"] == "no_right"


def test_five_hundred_lines_of_a_supervisor_cost_no_more_questions_than_five(
    farm: Farm, post: Post, client_of: Any, django_assert_max_num_queries: Any
) -> None:
    client = client_of("sam")
    tags = farm.gear("bag", 60, days_ago=1)
    day = [farm.entry("handed_out", item=t, picker=farm.badges["ana"]) for t in tags]
    with django_assert_max_num_queries(16):
        answers = client.post("/api/entries/", farm.batch(day, "note"), format="json").json()["answers"]
    assert {a["outcome"] for a in answers} == {"recorded"}


DEVICES = {
    "the server": (SERVER_ID, {}),
    "paper": (PAPER_ID, {}),
    "revoked": (UUID(int=500), {"kind": "counter", "revoked_at": "2026-01-01T00:00:00Z"}),
    "another's phone": (UUID(int=501), {"kind": "phone", "owner": "sam"}),
}


@pytest.mark.parametrize("gate", ["hold", "note"])
@pytest.mark.parametrize("which", DEVICES)
def test_devices_that_may_not_write(which: str, gate: str, farm: Farm, post: Post) -> None:
    device, fields = DEVICES[which]
    if "owner" in fields:
        fields = fields | {"owner": farm.users["sam"]}
    if fields:
        Device.objects.create(pk=device, **fields)
    (tag,) = farm.gear("bag", days_ago=1)
    entry = farm.entry("missed", item=tag)
    (answer,) = post(entry, gate=gate, device=str(device))
    assert (answer["outcome"], answer["code"]) == ("refused", "no_right")
    assert not Entry.objects.filter(pk=entry["id"]).exists()


def test_what_was_sent_before_the_device_was_revoked_is_known(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag", days_ago=1)
    entry = farm.entry("missed", item=tag)
    post(entry)
    farm.device.revoked_at = timezone.now()
    farm.device.save()
    assert post(entry)[0]["outcome"] == "known"
    assert post(farm.entry("found", item=tag))[0]["code"] == "no_right"


def test_a_new_device_belongs_to_whoever_writes_on_it_first(farm: Farm, post: Post) -> None:
    device = str(new_id())
    (tag,) = farm.gear("bag", days_ago=1)
    assert (
        post(farm.entry("handed_out", item=tag, picker=farm.badges["ana"]), device=device)[0]["outcome"]
        == "recorded"
    )
    assert Device.objects.get(pk=device).owner == farm.users["rosa"]
    assert post(farm.entry("returned", item=tag), name="sam", device=device)[0]["code"] == "no_right"
    assert (
        post(farm.entry("returned", item=tag), name="sam")[0]["outcome"] == "recorded"
    )  # the counter is everyone's
