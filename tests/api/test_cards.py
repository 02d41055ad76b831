"""Cards: dead ones, borrowed ones, those of people who have left, and whose crew stands in the line."""

from datetime import timedelta

import pytest
from django.utils import timezone

from crews.models import BadgeLoan
from equipment.actions.change_crew import join, leave
from equipment.actions.lend_badge import CardNotFree, lend_day_card, reissue
from equipment.models import Entry, ItemState
from tests.cast import Farm, day_card
from tests.farm import Post


def test_a_dead_card_is_refused_and_its_successor_is_not(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag")
    dead = farm.badges["ana"]
    new = reissue(farm.pickers["ana"], timezone.localdate(), "lost in the orchard").pk
    no, yes = post(
        farm.entry("handed_out", item=tag, picker=dead), farm.entry("handed_out", item=tag, picker=new)
    )
    assert (no["code"], yes["outcome"], yes["state"]["picker"]) == ("unknown_picker", "recorded", new)


def test_a_note_of_the_morning_still_knows_the_card_that_died_at_noon(farm: Farm, post: Post) -> None:
    early, late = farm.gear("bag", 2)
    reissue(farm.pickers["ana"], timezone.localdate(), "lost")
    morning = farm.entry("handed_out", item=early, picker=farm.badges["ana"])
    assert post(morning, gate="note")[0]["outcome"] == "recorded"
    reissue(farm.pickers["ben"], timezone.localdate() - timedelta(days=1), "lost yesterday")
    today = farm.entry("handed_out", item=late, picker=farm.badges["ben"])
    assert post(today, gate="note")[0]["code"] == "unknown_picker"


def test_a_resend_after_the_card_died_is_known(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag")
    entry = farm.entry("handed_out", item=tag, picker=farm.badges["ana"])
    post(entry)
    reissue(farm.pickers["ana"], timezone.localdate(), "lost")
    assert post(entry)[0]["outcome"] == "known"
    assert post(entry, gate="note")[0]["outcome"] == "known"


def test_who_has_left_gets_nothing_but_may_bring_back(farm: Farm, post: Post) -> None:
    one, two = farm.gear("bag", 2)
    post(farm.entry("handed_out", item=one, picker=farm.badges["ana"]))
    leave(farm.pen(), [farm.pickers["ana"]])
    no, back = post(
        farm.entry("handed_out", item=two, picker=farm.badges["ana"]),
        farm.entry("returned", item=one, picker=farm.badges["ana"]),
    )
    assert (no["outcome"], no["code"]) == ("refused", "picker_left")
    assert farm.badges["ana"] in no["say"]
    assert back["outcome"] == "recorded"


def test_a_note_to_who_has_left_is_taken_and_waits_to_be_settled(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag")
    leave(farm.pen(), [farm.pickers["ana"]])
    (taken,) = post(farm.entry("handed_out", item=tag, picker=farm.badges["ana"]), gate="note")
    assert [d["code"] for d in taken["discrepancies"]] == ["picker_left"]
    assert taken["state"]["crew"] == farm.crews["red"].pk  # the crew they were in last


def test_a_late_note_names_the_crew_as_it_was(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag", days_ago=100)
    before = timezone.now() - timedelta(hours=1)
    join(farm.pen(), [farm.pickers["ana"]], farm.crews["blue"])
    late = farm.entry("handed_out", item=tag, picker=farm.badges["ana"], at=before)
    assert post(late, gate="note")[0]["state"]["crew"] == farm.crews["red"].pk
    leave(farm.pen(), [farm.pickers["ben"]])
    late = farm.entry(
        "handed_out", item=farm.gear("bag", days_ago=100)[0], picker=farm.badges["ben"], at=before
    )
    assert post(late, gate="note")[0]["discrepancies"] == []


def test_a_move_that_was_taken_back_never_was(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag", days_ago=100)
    before = timezone.now() - timedelta(hours=1)
    join(farm.pen(), [farm.pickers["ana"]], farm.crews["blue"], at=before - timedelta(hours=1))
    moves = Entry.objects.filter(picker=farm.pickers["ana"]).order_by("-position")[:2]
    post(*(farm.entry("reversed", crew=m.crew_id, detail={"entry": str(m.pk)}) for m in moves), name="frank")
    out = farm.entry("handed_out", item=tag, picker=farm.badges["ana"], at=before)
    assert post(out, gate="note")[0]["state"]["crew"] == farm.crews["red"].pk


def test_who_was_put_into_the_crew_at_breakfast_got_the_gear_before(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag", days_ago=100)
    before = timezone.now() - timedelta(days=31)
    BadgeLoan.objects.update(from_day=before.date())
    early = farm.entry("handed_out", item=tag, picker=farm.badges["ana"], at=before)
    (taken,) = post(early, gate="note")
    assert (taken["outcome"], taken["state"]["crew"]) == ("recorded", farm.crews["red"].pk)


def test_a_day_card_serves_whom_it_is_lent_to_today(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag")
    card, today = day_card(), timezone.localdate()
    lend_day_card(card, farm.pickers["cy"], today - timedelta(days=1))
    assert post(farm.entry("handed_out", item=tag, picker=card.pk))[0]["code"] == "unknown_picker"
    lend_day_card(card, farm.pickers["ana"], today)
    post(farm.entry("handed_out", item=tag, picker=card.pk))
    assert ItemState.objects.get(tag=tag).picker == farm.pickers["ana"]
    with pytest.raises(CardNotFree, match="Ana"):
        lend_day_card(card, farm.pickers["ben"], today)


def test_a_picker_who_joins_twice_is_in_the_crew_once(farm: Farm, post: Post) -> None:
    red, blue = (farm.crews[colour].pk for colour in ("red", "blue"))
    entries = [farm.entry("joined", crew=crew, picker=farm.badges["cy"]) for crew in (red, red, blue)]
    assert [a["outcome"] for a in post(*entries)] == ["recorded"] * 3
    assert farm.pickers["cy"].memberships.filter(crew=red).count() == 1
    parted = [farm.entry("parted", crew=red, detail={"picker": farm.badges["cy"]}) for _ in range(2)]
    assert [a.get("code") for a in post(*parted)] == [None, "not_in_crew"]


def test_a_change_of_hands_names_the_one_who_has_it(farm: Farm, post: Post) -> None:
    (tag,) = farm.gear("bag")
    ana, ben, cy = (farm.badges[name] for name in ("ana", "ben", "cy"))
    post(farm.entry("handed_out", item=tag, picker=ana))
    wrong = farm.entry("handed_out", item=tag, picker=ben, detail={"from": cy})
    right = farm.entry("handed_out", item=tag, picker=ben, detail={"from": f"https://x.example/t/{ana}"})
    crew = farm.entry("handed_out", item=tag, crew=farm.crews["blue"].pk, detail={"from": ben})
    back = farm.entry("handed_out", item=tag, picker=cy, detail={"from": farm.crews["blue"].pk})
    assert [a.get("code") for a in post(wrong, right, crew, back)] == ["already_out", None, None, None]
    kept = Entry.objects.filter(verb="handed_out").order_by("position").values_list("detail", flat=True)
    assert [detail.get("from") for detail in kept] == [
        None,
        f"picker:{farm.pickers['ana'].pk}",
        f"picker:{farm.pickers['ben'].pk}",
        f"crew:{farm.crews['blue'].pk}",
    ]
