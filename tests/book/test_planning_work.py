"""What the evening plan goes by: spares by the book's swaps, minutes, baths with room left; and what stays short."""

from collections import Counter
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from equipment.actions.bathing import Mixing
from equipment.actions.clean import Way, clean
from equipment.actions.mend import Mend, mend
from equipment.actions.report_fault import report_fault
from equipment.domain.figures import Rate, prior
from equipment.domain.jobs import Gear
from equipment.domain.spares import spares_to_carry
from equipment.models import ItemState
from equipment.models.figures import Use
from equipment.models.planning import lendable
from equipment.models.planning.spares import from_use
from tests.cast import Farm
from tests.farm import Post
from tests.planned import plan, sort
from tests.washing import mixed, pen, states

pytestmark = pytest.mark.django_db


class TestSpares:
    def test_by_the_book_s_swaps_where_there_are_enough(self, ruled_farm: Farm, post: Post) -> None:
        """Two days ago six bags tore after four hours each: on a day like that it takes more than one spare."""
        ruled_farm.plan("red", "S2", days=1)
        before = timezone.now() - timedelta(days=2)
        bags = ruled_farm.gear("bag", 6, days_ago=5)
        assert sort(plan(), "bag").advised == 1
        for count, bag in enumerate(bags, start=1):
            given = {"item": bag, "picker": ruled_farm.badges["ana"]}
            post(ruled_farm.entry("handed_out", **given, at=before - timedelta(hours=4)), gate="note")
            post(
                ruled_farm.entry("fault_found", item=bag, at=before, detail={"fault": "bag_hole"}),
                gate="note",
            )
            post(ruled_farm.entry("returned", item=bag, at=before), gate="note")
            if count == 4:
                assert sort(plan(), "bag").advised == 1  # too few to go by
        (spare,) = [each for each in plan().needs[0].of("spare") if each.gear.kind == "bag"]
        # Six swaps in 24 hours, 24 hours ahead, and half a swap where the rest of the kind shows nothing (by scipy).
        assert spare.by_book and spare.count == spares_to_carry(6, 24, 24, 0.95, 0.5, 0) == 13

    def test_a_hand_of_which_little_is_known_goes_by_its_kind(self) -> None:
        used = [
            Use("CW1", "clippers", "", "", "right", 900, 9, 90, 3),
            Use("CW1", "clippers", "", "", "left", 10, 0, 10, 1),
            Use("CW2", "bag", "", "", "", 900, 4, 90, 3),
        ]
        found = from_use(used, 0.95)
        left, right = prior(Rate(9, 900)), prior(Rate(0, 10))
        assert found == {
            ("CW1", "clippers"): {
                Gear("clippers", hand="right"): spares_to_carry(9, 900, 30, 0.95, right.swaps, right.hours),
                Gear("clippers", hand="left"): spares_to_carry(0, 10, 10, 0.95, left.swaps, left.hours),
            }
        }


class TestMinutes:
    @pytest.fixture
    def mended(self, ruled_farm: Farm) -> Any:
        def times(*minutes: int) -> list[str]:
            tags = ruled_farm.gear("bag", len(minutes), days_ago=1)
            for tag, took in zip(tags, minutes, strict=True):
                report_fault(pen(ruled_farm, 9), states(tag)[0], "bag_hole")
                mend(pen(ruled_farm, 8), states(tag)[0], Mend("bag_hole", "patched", took))
            return tags

        return times

    def test_by_the_book_from_five_mends_on(self, ruled_farm: Farm, mended: Any, post: Post) -> None:
        ruled_farm.plan("red", "S2", days=1)
        tags = mended(1, 2, 31, 32)
        for tag in tags:
            report_fault(pen(ruled_farm, 5), states(tag)[0], "bag_hole")
        assert {task.job.minutes for task in plan().tasks.values()} == {20}  # the catalogue's
        (last,) = mended(33)
        report_fault(pen(ruled_farm, 4), states(last)[0], "bag_hole")
        found = plan()
        assert {task.job.minutes for task in found.tasks.values()} == {31}
        assert found.stores[0].ways.minutes.from_book(found.tasks[tags[0]].piece.steps[0])
        entry = ItemState.objects.get(tag=last).item.entries.get(verb="mended")
        post(ruled_farm.entry("reversed", item=last, detail={"entry": str(entry.pk)}))
        assert {task.job.minutes for task in plan().tasks.values()} == {20}

    def test_a_bath_that_stands_takes_as_many_as_it_has_room_for(self, ruled_farm: Farm) -> None:
        """Ana's, Ben's and a spare are to be sterilised; one litre takes ten pieces, and this bath only two more."""
        ruled_farm.plan("red", "S2", days=1)
        eleven = ruled_farm.gear("clippers", 11, days_ago=1)
        bath = mixed(
            ruled_farm, 30, Mixing("clippers_daily_bleach", litres=1, product_ml=100, strength_pct=5)
        )
        way = Way("sterilise", bath, seconds=600)
        assert all(outcome.recorded for outcome in clean(pen(ruled_farm, 10), states(*eleven[:8]), way))
        for tag in eleven[:8]:
            report_fault(pen(ruled_farm, 1), states(tag)[0], "clippers_blunt")
        store = plan().stores[0]
        names = Counter(job.bath.name for job in store.plan.chosen if job.bath)
        assert names == {str(bath): 2, "clippers_alcohol": 1}
        assert store.plan.minutes == 1 + 1 + 2 + 2

    def test_what_is_required_comes_first_then_the_quickest(self, ruled_farm: Farm) -> None:
        ruled_farm.plan("red", "S2", days=1)
        bags, (goggles,) = ruled_farm.gear("bag", 2, days_ago=1), ruled_farm.gear("goggles", days_ago=1)
        for tag, fault in zip(
            (*bags, goggles), ("bag_hole", "bag_bottom", "goggles_torn_strap"), strict=True
        ):
            report_fault(ruled_farm.pen(), states(tag)[0], fault)
        assert list(plan().tasks) == [bags[1], bags[0], goggles]


class TestShort:
    def test_the_other_store_lends_what_it_does_not_need(self, ruled_farm: Farm) -> None:
        for crew in ("red", "blue"):
            ruled_farm.plan(crew, "S2", days=1, clipped=False)
        ruled_farm.gear("bag", 4, store="B", days_ago=1)  # Cy's and a spare are asked for there
        found = plan()
        bags = sort(found, "bag")
        assert bags.stays_short == 3 and lendable(found, "A", bags) == {"B": 2}
        ruled_farm.gear("bag", 9, store="B", days_ago=1)
        assert lendable(plan(), "A", bags) == {"B": 3}
        assert lendable(plan(store="A"), "A", bags) == {}

    def test_what_is_only_advised_yields_first(self, ruled_farm: Farm) -> None:
        ruled_farm.plan("red", "S2", days=1, clipped=False)
        ruled_farm.gear("bag", 2, days_ago=1)
        found = plan()
        bags = sort(found, "bag")
        assert (bags.required, bags.advised, bags.stays_short, bags.lacking) == (2, 1, 1, 0)
        assert found.stores[0].fewer_pickers == 0
