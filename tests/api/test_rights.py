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
from equipment.actions.inspect_item import all_good
from equipment.actions.load_catalogue import load_catalogue
from equipment.actions.set_rule import set_rule
from equipment.actions.writing import Pen, new_id
from equipment.domain import codes
from equipment.domain.verbs import VERBS
from equipment.models import Entry, rules
from tests.cast import ROLES, Farm, user
from tests.farm import Post

RED, BLUE = "red", "blue"
OF_LOTS = {verb.name for verb in VERBS.values() if verb.family == "lot"}
OF_BATHS = {verb.name for verb in VERBS.values() if verb.family == "bath"}
MIXING = {"recipe": "clippers_daily_bleach", "litres": 10, "product_ml": 1000}
MORNING = {
    "present": 2,
    "kits": "yes",
    "long_nails": 0,
    "open_wounds": 0,
    "first_aid_kits": 1,
    "water": 1,
    "toilets": 1,
    "hand_washing": 1,
    "gloves_dry": "yes",
    "temperature": 19,
    "humidity": 60,
    "fruit_dry": "yes",
}
CREW_DETAILS: dict[str, dict[str, Any]] = {
    "arrived": {},
    "left": {},
    "stopped": {"cause": "rain"},
    "morning_checked": {"answers": MORNING},
    "taken_over": {},
    "replanned": {"date": "2026-06-01", "clipped": False},
}
# Baths and lots belong to no crew, and who takes a crew over does not lead it yet.
OF_NO_CREW = OF_BATHS | OF_LOTS | {"taken_over"}


def a_line(verb: str, farm: Farm, colour: str, who: str) -> dict[str, Any]:
    """An entry that only a missing right can stand against: of the crew of that colour and one of its pickers."""
    (tag,) = farm.gear("bag", days_ago=1)
    badge, crew = farm.badges[who], farm.crews[colour].pk
    out = farm.pen().draft("handed_out", item=state(tag).item_id, crew=crew, picker=farm.pickers[who].pk)
    if verb in OF_BATHS:
        return a_line_of_a_bath(verb, farm)
    if verb in OF_LOTS:
        return a_line_of_a_lot(verb, farm)
    of_crew = {"joined", "parted", "waived", "trained", *CREW_DETAILS}
    if verb not in of_crew | {"registered", "packed", "moved", "handed_out"}:
        assert farm.pen().record([out]).outcomes[0].recorded
    if verb == "found":
        farm.pen().record([farm.pen().draft("missed", item=state(tag).item_id)])
    if verb in ("mended", "released"):
        break_it(farm, tag, mended=verb == "released")
    if verb in CREW_DETAILS:
        block = {"block": "N4"} if verb == "arrived" else {}
        return farm.entry(verb, crew=crew, detail=CREW_DETAILS[verb], **block)
    if verb in of_crew:
        details = {"waived": {"kind": "gloves"}, "trained": {"topic": "ladder"}}
        return farm.entry(verb, crew=crew, picker=badge, detail=details.get(verb, {}))
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
        "fault_found": {"detail": {"fault": "bag_hole"}},
        "mended": {"detail": {"fault": "bag_hole", "method": "sewn with thread", "minutes": 10}},
        "released": {"detail": {"fault": "bag_hole"}},
        "inspected": {"detail": {"checklist": "bag_weekly", "answers": all_good("bag_weekly")}},
        "cleaned": {"detail": {"method": "wash", "recipe": "wash_soap"}},
        "flagged": {"detail": {"disease": "citrus_canker"}},
        "heard": {"picker": badge, "note": "I gave it back."},
    }.get(verb, {})
    return farm.entry(verb, **{"item": tag, **fields})


def a_line_of_a_bath(verb: str, farm: Farm) -> dict[str, Any]:
    if verb == "mixed":
        return farm.entry(verb, bath=str(new_id()), detail=MIXING)
    bath = new_id()
    farm.pen().record([farm.pen().draft("mixed", bath=bath, detail=MIXING)])
    detail = {"ppm": 500, "diluted": 10} if verb == "tested" else {"where": "drain"}
    return farm.entry(verb, bath=str(bath), detail=detail)


def a_line_of_a_lot(verb: str, farm: Farm) -> dict[str, Any]:
    came = {"goods": "plasters", "quantity": 40}
    if verb == "received":
        return farm.entry(verb, lot=str(new_id()), detail=came)
    lot = new_id()
    farm.pen().record([farm.pen().draft("received", lot=lot, detail=came)])
    crew = {"crew": farm.crews[RED].pk} if verb == "given" else {}
    return farm.entry(
        verb, lot=str(lot), detail={"left": 3} if verb == "counted" else {"quantity": 1}, **crew
    )


def break_it(farm: Farm, tag: str, *, mended: bool) -> None:
    """A hole in it, mended by somebody where `mended`, who then waits for another to pass it."""
    pen, item = farm.pen(), state(tag).item_id
    pen.record([pen.draft("fault_found", item=item, detail={"fault": "bag_hole"})])
    if mended:
        detail = {"fault": "bag_hole", "method": "sewn", "minutes": 9}
        if not rules.version():
            load_catalogue()
            set_rule(
                farm.users["olga"], "fault bag_hole", {"released_by": "second"}, "a test", timezone.now()
            )
        mender = Pen(farm.users["frank"], "A", timezone.now())
        assert mender.record([mender.draft("mended", item=item, detail=detail)]).outcomes[0].recorded


def state(tag: str) -> Any:
    from equipment.models import ItemState

    return ItemState.objects.get(tag=tag)


@pytest.mark.only_on("sqlite")
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


OF_SUPERVISORS = sorted(
    name
    for name, verb in VERBS.items()
    if policy.SUPERVISOR in policy.ACTIONS[verb.action] and name not in OF_NO_CREW
)


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
        farm.entry("returned", item=theirs, crew=red),
        farm.entry("missed", item=theirs, crew=red),
        farm.entry("stowed", item=theirs, crew=red, block="N4", detail={"counted": 1}),
        farm.entry("missed", item=free),
    ):
        (answer,) = post(entry, name="sam", gate="note")
        assert (answer["outcome"], answer["code"]) == ("refused", "no_right"), entry


def test_what_another_crew_gives_is_told_of_afterwards_and_not_taken_at_the_counter(
    farm: Farm, post: Post
) -> None:
    red, blue, cy = farm.crews[RED].pk, farm.crews[BLUE].pk, farm.badges["cy"]
    (theirs,) = farm.gear("bag", days_ago=1)
    post(farm.entry("handed_out", item=theirs, crew=blue))
    given = farm.entry("handed_out", item=theirs, picker=farm.badges["ana"], detail={"from": blue})
    lent = farm.entry("joined", crew=red, picker=cy)
    refused = post(given, lent, name="sam")
    assert [answer["code"] for answer in refused] == ["no_right", "no_right"]
    told = post(given, lent, name="sam", gate="note")
    assert [answer["outcome"] for answer in told] == ["recorded", "recorded"]


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
    farm: Farm, client_of: Any, django_assert_max_num_queries: Any, no_counter_at_work: None
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
