"""The evening plan as a reading of the book: need, what is fit and why not, minutes, what stays short."""

from collections import Counter
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from crews.models import Crew
from equipment.actions.change_crew import join, leave
from equipment.actions.report_fault import report_fault
from equipment.domain.jobs import Gear
from equipment.models.planning import evening, first_light, next_day
from tests.cast import Farm
from tests.farm import Post
from tests.planned import out_and_back, plan, sort, steps, wipe
from tests.washing import mixed, pen, states

pytestmark = pytest.mark.django_db


class TestNeed:
    def test_by_crew_kind_size_and_hand_spares_included(self, ruled_farm: Farm) -> None:
        for name, hand, size in (("ana", "right", "M"), ("ben", "left", "")):
            ruled_farm.pickers[name].hand, ruled_farm.pickers[name].glove_size = hand, size
            ruled_farm.pickers[name].save()
        ruled_farm.plan("red", "N4", days=1)  # lemons, tall trees, clipped
        ruled_farm.plan("blue", "S2", days=1, clipped=False)
        red, blue = sorted(plan().needs, key=lambda need: need.crew.store_id)
        counted = Counter({(each.gear, each.holder): each.count for each in red.asked})
        assert {
            key: count for key, count in counted.items() if key[0].kind in ("clippers", "gloves", "ladder")
        } == {
            (Gear("clippers", hand="right"), "picker"): 1,
            (Gear("clippers", hand="left"), "picker"): 1,
            (Gear("clippers", hand="left"), "spare"): 1,
            (Gear("gloves", "M"), "picker"): 1,
            (Gear("gloves"), "picker"): 1,
            (Gear("gloves"), "spare"): 1,
            (Gear("ladder"), "crew"): 1,
        }
        assert not {"clippers", "gloves", "ladder"} & {each.gear.kind for each in blue.asked}
        assert {each.gear.kind for each in blue.asked if not each.required} >= {"goggles", "bag"}

    def test_the_crew_s_own_change_of_plan_counts(self, ruled_farm: Farm, post: Post) -> None:
        ruled_farm.plan("red", "N4", days=1)
        day = (timezone.localdate() + timedelta(days=1)).isoformat()
        change = {"date": day, "part": None, "clipped": False, "block": "S2"}
        red = ruled_farm.crews["red"].pk
        (answer,) = post(ruled_farm.entry("replanned", crew=red, block="S2", detail=change, note="rain"))
        assert answer["outcome"] == "recorded"
        (need,) = plan().needs
        assert {"clippers", "ladder"}.isdisjoint(each.gear.kind for each in need.asked)

    def test_one_lent_at_noon_counts_once_where_they_are_now(self, ruled_farm: Farm) -> None:
        for crew in ("red", "blue"):
            ruled_farm.plan(crew, "S2", days=1)
        join(ruled_farm.pen(), [ruled_farm.pickers["ben"]], ruled_farm.crews["blue"])
        assert {need.crew.name: len(need.people) for need in plan().needs} == {"Red crew": 1, "Blue crew": 2}

    def test_a_day_without_crews_and_a_crew_without_pickers(self, ruled_farm: Farm) -> None:
        assert plan().needs == [] and next_day(timezone.now()) is None
        leave(ruled_farm.pen(), [ruled_farm.pickers[name] for name in ("ana", "ben")])
        ruled_farm.plan("red", "S2", days=2)
        found = plan(2)
        assert [(len(need.people), list(need.asked)) for need in found.needs] == [(0, [])]
        assert found.stores[0].sorts == [] and found.tasks == {}
        assert next_day(timezone.now()) == found.day

    def test_until_first_light_the_next_day_is_today(self, ruled_farm: Farm) -> None:
        day = ruled_farm.plan("red", "S2").date
        light = first_light(day)
        assert next_day(light - timedelta(minutes=1)) == day and next_day(light) is None

    def test_a_day_that_is_past_tells_its_need_only(self, ruled_farm: Farm) -> None:
        ruled_farm.plan("red", "S2", days=-1)
        ruled_farm.gear("clippers", 2, days_ago=1)
        found = plan(-1)
        assert found.over and found.tasks == {} and sort(found, "bag").required == 2


class TestFit:
    def test_nothing_there_at_all(self, ruled_farm: Farm) -> None:
        ruled_farm.plan("red", "S2", days=1)
        found = plan()
        bags = sort(found, "bag")
        assert (bags.fit, bags.stays_short, bags.lacking) == (0, 3, 2)
        assert found.stores[0].plan.minutes == 0 and found.stores[0].fewer_pickers == 2

    def test_far_ahead_what_lies_too_long_is_due(self, ruled_farm: Farm) -> None:
        (tag,) = ruled_farm.gear("clippers", days_ago=1)
        wipe(ruled_farm, tag)
        for days in (1, 30):
            ruled_farm.plan("red", "S2", days=days)
        assert sort(plan(), "clippers").fit == 1 and sort(plan(30), "clippers").fit == 0

    def test_what_each_piece_wants_in_the_order_of_doing(self, ruled_farm: Farm) -> None:
        ruled_farm.plan("red", "N4", days=1)
        (clippers,) = ruled_farm.gear("clippers", days_ago=1)
        for fault in ("clippers_blunt", "dirty"):
            report_fault(pen(ruled_farm, 9), states(clippers)[0], fault)
        (ladder,), (kit,) = (
            ruled_farm.gear("ladder", days_ago=1),
            ruled_farm.gear("first_aid_kit", days_ago=1),
        )
        report_fault(pen(ruled_farm, 9), states(ladder)[0], "ladder_wobble")
        found = plan()
        assert steps(found, clippers) == ["mend clippers_blunt", "wash", "sterilise"]
        assert steps(found, ladder) == ["mend ladder_wobble", "pass ladder_wobble", "inspect ladder_monthly"]
        assert steps(found, kit) == ["inspect first_aid_weekly"]
        # 10 to mend, 5 to wash, 2 to wipe; 30 to mend, 3 to pass, 6 to inspect; 3 for the kit.
        assert [found.tasks[tag].job.minutes for tag in (clippers, ladder, kit)] == [17, 39, 3]

    def test_what_comes_back_tonight_counts_and_what_is_missing_does_not(
        self, ruled_farm: Farm, post: Post
    ) -> None:
        ruled_farm.plan("red", "S2", days=1)
        bag, lost = ruled_farm.gear("bag", 2, days_ago=1)
        post(ruled_farm.entry("handed_out", item=bag, picker=ruled_farm.badges["ana"]))
        post(ruled_farm.entry("missed", item=lost))
        assert sort(plan(), "bag").fit == 1

    def test_another_s_goggles_are_fit_for_that_picker_only(self, ruled_farm: Farm, post: Post) -> None:
        """Worn by Cy, who picks from another store; then by Ana as well as a second pair."""
        ruled_farm.plan("red", "S2", days=1)
        of_cy, of_ana, second = ruled_farm.gear("goggles", 3, days_ago=1)
        out_and_back(ruled_farm, post, of_cy, "cy")
        out_and_back(ruled_farm, post, of_ana, "ana")
        found = plan()
        assert sort(found, "goggles").fit == 2 and found.tasks == {}
        out_and_back(ruled_farm, post, second, "ana")
        found = plan()
        assert sort(found, "goggles").fit == 1
        assert set(found.tasks) < {of_cy, of_ana, second} and len(found.tasks) == 1
        assert [steps(found, tag) for tag in found.tasks] == [["wash"]]

    def test_what_stays_with_its_crew_serves_that_crew_only(self, ruled_farm: Farm, post: Post) -> None:
        Crew.objects.filter(pk=ruled_farm.crews["blue"].pk).update(store="A")
        join(ruled_farm.pen(), [ruled_farm.pickers["ben"]], ruled_farm.crews["blue"])
        (toilet,) = ruled_farm.gear("toilet", days_ago=1)
        post(ruled_farm.entry("handed_out", item=toilet, crew=ruled_farm.crews["red"].pk))
        ruled_farm.plan("blue", "S2", days=1)
        assert sort(plan(), "toilet").fit == 0
        ruled_farm.plan("red", "S2", days=1)
        toilets = sort(plan(), "toilet")
        assert (toilets.asked, toilets.fit, toilets.stays_short) == (2, 1, 1)

    def test_today_what_is_out_serves_who_has_it(self, ruled_farm: Farm, post: Post) -> None:
        ruled_farm.plan("red", "S2")
        bag, other = ruled_farm.gear("bag", 2, days_ago=1)
        for tag, who in ((bag, "ana"), (other, "cy")):
            post(ruled_farm.entry("handed_out", item=tag, picker=ruled_farm.badges[who]))
        now = timezone.localtime().replace(hour=23, minute=30)
        assert sort(evening(now.date(), now), "bag").fit == 1

    def test_flagged_pieces_go_into_what_kills_it_or_wait(self, ruled_farm: Farm) -> None:
        ruled_farm.plan("red", "S2", days=1)
        (tag,) = ruled_farm.gear("clippers", days_ago=1)
        wipe(ruled_farm, tag)
        officer = ruled_farm.pen("olga")
        officer.record(
            [officer.draft("flagged", item=states(tag)[0].item_id, detail={"disease": "exocortis"})]
        )
        found = plan()
        store = found.stores[0]
        assert steps(found, tag) == ["sterilise exocortis"]
        (bath,) = store.plan.baths
        assert store.ways.dips[bath].recipe.code == "clippers_viroid_bleach"
        (hurt,) = ruled_farm.gear("ladder", days_ago=1)
        report_fault(ruled_farm.pen(), states(hurt)[0], "ladder_cracked_stile")
        ruled_farm.plan("blue", "S2", days=2)
        ruled_farm.plan("red", "N4", days=2)
        ladders = sort(plan(2), "ladder")
        assert (ladders.undecided, ladders.stays_short, ladders.per) == (1, 1, 3)


def test_at_most_twenty_queries_and_no_more_for_more(
    ruled_farm: Farm, post: Post, django_assert_max_num_queries: Any
) -> None:
    ruled_farm.plan("red", "N4", days=1)
    (clippers,), (bag,) = ruled_farm.gear("clippers", days_ago=1), ruled_farm.gear("bag", days_ago=1)
    wipe(ruled_farm, clippers)
    report_fault(ruled_farm.pen(), states(bag)[0], "bag_hole")
    mixed(ruled_farm)
    change = {"date": (timezone.localdate() + timedelta(days=1)).isoformat(), "part": None, "clipped": True}
    post(
        ruled_farm.entry(
            "replanned", crew=ruled_farm.crews["red"].pk, detail={**change, "block": None}, note="x"
        )
    )
    with django_assert_max_num_queries(20) as few:
        plan()
    ruled_farm.plan("blue", "N4", days=1)
    wipe(ruled_farm, *ruled_farm.gear("clippers", 20, days_ago=1))
    for tag in ruled_farm.gear("bag", 20, days_ago=1):
        report_fault(ruled_farm.pen(), states(tag)[0], "bag_hole")
    mixed(ruled_farm, store="B")
    with django_assert_max_num_queries(len(few)):
        assert len(plan().needs) == 2
