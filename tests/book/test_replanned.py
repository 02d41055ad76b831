"""A crew changes its plan where it works: what is shown everywhere is the office's plan with that on it."""

from datetime import timedelta
from typing import Any

import pytest
from django.core.management import call_command
from django.test import Client
from django.utils import timezone

from crews.models import DayPlan
from equipment.actions.change_plan import Change, change_plan, copy_day
from equipment.models import Entry
from equipment.models.crew_kits import crew_kit
from equipment.models.kits import kits, plans_by_crew
from tests.cast import Farm
from tests.farm import Post

TODAY = timezone.localdate


def told(farm: Farm, by: str = "sam", note: str = "dry by now", **detail: Any) -> Entry:
    given = {"date": TODAY().isoformat(), "clipped": False, **detail}
    pen = farm.pen(by)
    fields = {"crew": farm.crews["red"].pk, "block": detail.get("block"), "detail": given}
    draft = pen.draft("replanned", note=note, **fields)
    assert pen.record([draft], "note").outcomes[0].recorded
    return Entry.objects.get(pk=draft.id)


def shown(farm: Farm, crew: str = "red") -> list[tuple[str, str, bool, str]]:
    plans = plans_by_crew(TODAY()).get(farm.crews[crew].pk, [])
    return [(plan.part, plan.block_id, plan.clipped, plan.state) for plan in plans]


def test_a_whole_day_is_snapped_now_and_the_kit_follows(farm: Farm) -> None:
    farm.plan("red", "S2", clipped=True)
    before = {line.kind for line in kits([farm.pickers["ana"]], TODAY())[0].lines if line.need == "required"}
    assert "clippers" in before
    told(farm)
    assert shown(farm) == [("day", "S2", False, "changed")]
    after = {line.kind for line in kits([farm.pickers["ana"]], TODAY())[0].lines if line.need == "required"}
    assert before - after == {"clippers"}
    assert DayPlan.objects.get().clipped  # what the office made stays as it was made


def test_another_block_asks_for_ladders(farm: Farm) -> None:
    farm.plan("red", "S2")
    assert "ladder" not in {line.kind for line in crew_kit(farm.crews["red"], TODAY()).lines}
    told(farm, block="N4", clipped=True)
    assert shown(farm) == [("day", "N4", True, "changed")]
    assert "ladder" in {line.kind for line in crew_kit(farm.crews["red"], TODAY()).lines}


@pytest.mark.parametrize(
    ("planned", "part", "wanted"),
    [
        (["day"], None, [("day", False)]),
        (["day"], "day", [("day", False)]),
        (["day"], "afternoon", [("morning", True), ("afternoon", False)]),
        (["day"], "morning", [("morning", False), ("afternoon", True)]),
        (["morning", "afternoon"], None, [("morning", False), ("afternoon", False)]),
        (["morning", "afternoon"], "afternoon", [("morning", True), ("afternoon", False)]),
        (["morning"], "afternoon", [("morning", True)]),  # nobody knows where
        ([], None, []),
    ],
)
def test_of_a_part_of_the_day(farm: Farm, planned: list[str], part: str | None, wanted: list[Any]) -> None:
    for each in planned:
        farm.plan("red", "S2", part=each)
    told(farm, part=part)
    assert [(plan[0], plan[2]) for plan in shown(farm)] == wanted


def test_where_the_office_planned_nothing_a_block_makes_a_plan(farm: Farm) -> None:
    told(farm, block="S2", part="afternoon")
    assert shown(farm) == [("afternoon", "S2", False, "changed")]
    assert shown(farm, "blue") == []
    assert not DayPlan.objects.exists()


def test_only_that_crew_and_that_day(farm: Farm) -> None:
    farm.plan("red", "S2")
    farm.plan("red", "S2", days=1)
    farm.plan("blue", "S2")
    told(farm, date=(TODAY() + timedelta(days=1)).isoformat())
    assert shown(farm) == [("day", "S2", True, "planned")]
    assert shown(farm, "blue") == [("day", "S2", True, "planned")]
    assert not plans_by_crew(TODAY() + timedelta(days=1))[farm.crews["red"].pk][0].clipped


def test_the_last_word_stands_and_one_taken_back_does_not(farm: Farm) -> None:
    farm.plan("red", "S2")
    told(farm)
    last = told(farm, clipped=True, block="N4")
    assert shown(farm) == [("day", "N4", True, "changed")]
    pen = farm.pen("sam")
    pen.record([pen.draft("reversed", crew=last.crew_id, detail={"entry": str(last.pk)})], "note")
    assert shown(farm) == [("day", "S2", False, "changed")]


def test_what_the_office_changes_later_stands_and_what_it_cancelled_earlier_does_not(farm: Farm) -> None:
    plan = farm.plan("red", "S2")
    at = timezone.now() - timedelta(hours=2)
    off = Change(DayPlan.State.CANCELLED, "rain", plan.block, clipped=True)
    change_plan(plan, off, farm.users["frank"], at)
    assert shown(farm) == []
    told(farm)
    assert shown(farm) == [("day", "S2", False, "changed")]
    change_plan(plan, off, farm.users["frank"], timezone.now())
    assert shown(farm) == []


def test_a_day_is_copied_as_it_stands(farm: Farm) -> None:
    farm.plan("red", "S2")
    told(farm, part="afternoon", block="N4")
    made, left = copy_day(TODAY(), TODAY() + timedelta(days=3))
    assert (made, list(left)) == (2, [])
    copied = DayPlan.objects.filter(date__gt=TODAY()).order_by("-part")
    assert [(p.part, p.block_id, p.clipped, p.state) for p in copied] == [
        ("morning", "S2", True, "planned"),
        ("afternoon", "N4", False, "planned"),
    ]


@pytest.mark.parametrize("who", ["sam", "frank", "rosa"])
def test_the_pages_show_it(farm: Farm, client_of: Any, who: str) -> None:
    plan = farm.plan("red", "S2")
    told(farm, block="N4", note="dry <by> now")
    told(farm, part="morning", block="S2", date=(TODAY() + timedelta(days=1)).isoformat())
    client: Client = client_of(who)
    crew = client.get(f"/crews/{farm.crews['red'].pk}/").content.decode()
    assert "N4, lemon" in crew
    assert "S2, orange" in crew
    assert "snapped" in client.get(f"/plans/?day={TODAY()}").content.decode()
    page = client.get(f"/plans/{plan.pk}/").content.decode()
    assert "block N4, snapped." in page
    assert "dry &lt;by&gt; now" in page


def test_it_is_sent_by_a_phone_and_the_book_holds_together(farm: Farm, post: Post) -> None:
    farm.plan("red", "S2")
    detail = {"date": TODAY().isoformat(), "part": None, "clipped": False, "block": "n4"}
    sent = farm.entry("replanned", crew=farm.crews["red"].pk, detail=detail, note="finished S2")
    (answer,) = post(sent, name="sam", gate="note")
    assert answer["outcome"] == "recorded", answer
    assert answer["say"] == f"The plan of {farm.crews['red'].pk} is changed."
    assert shown(farm) == [("day", "N4", False, "changed")]
    call_command("rebuild_states", verbosity=0)
    assert shown(farm) == [("day", "N4", False, "changed")]
    call_command("verify_book", verbosity=0)


WHO_MAY = [
    ("sam", "red", True),
    ("sam", "blue", False),
    ("frank", "blue", True),
    ("rosa", "red", True),
    ("olga", "red", False),
    ("mo", "red", False),
]


@pytest.mark.parametrize(("who", "crew", "may"), WHO_MAY)
def test_who_may(farm: Farm, post: Post, who: str, crew: str, may: bool) -> None:
    sent = farm.entry("replanned", crew=farm.crews[crew].pk, detail={"date": "2026-06-01", "clipped": True})
    (answer,) = post(sent, name=who, gate="note")
    assert answer["outcome"] == ("recorded" if may else "refused")
    assert answer.get("code") == (None if may else "no_right")
