"""What the figures count, counted again entry by entry; each by one query."""

import random
from collections import Counter
from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.utils import timezone

from equipment.actions.set_rule import set_rule
from equipment.domain.makes import Costs
from equipment.models import Entry, ItemState, Rule, Visit
from equipment.models.figures import (
    Life,
    Stock,
    busiest,
    chosen,
    costs,
    left,
    lives,
    stock,
    stopping,
    use_by_crew,
    use_by_make,
)
from tests.cast import Farm
from tests.printing import at, take_back, write
from tests.wearing import LOOP, SPRING, Wearing, worn

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


def life_of(tag: str) -> Life:
    now = timezone.now()
    return next(life for life in lives(now, stopping(now)) if life.tag == tag)


@pytest.fixture
def story(ruled_farm: Farm) -> Wearing:
    return Wearing(ruled_farm, first=40)


def test_hours_are_those_of_the_crews_visits_until_the_first_fault(story: Wearing) -> None:
    (tag,) = story.gear(1, "A", "D1")
    story.day(tag, 40)
    story.day(tag, 39)
    story.day(tag, 38, SPRING, when="12:30")  # 07:00 to 10:00 and 11:00 to 12:30
    found = life_of(tag)
    assert found.hours == found.all_hours == pytest.approx(7 + 7 + 4.5, abs=1e-4)
    assert (found.fault, found.faults, found.make, found.delivery) == (SPRING, 1, "A", "D1")
    story.mend(tag, 38)
    story.day(tag, 36)
    found = life_of(tag)
    assert found.hours == pytest.approx(18.5, abs=1e-4) and found.all_hours == pytest.approx(25.5, abs=1e-4)


def test_where_nobody_told_of_a_visit_all_of_the_stint_is_use_up_to_a_days_work(story: Wearing) -> None:
    short, long = story.gear(2, "A")
    for tag, until in ((short, at(30, "09:30")), (long, at(28, "06:00"))):
        write(story.farm, "handed_out", at(30), tag, crew="red", picker="ana")
        write(story.farm, "returned", until, tag)
    assert life_of(short).hours == pytest.approx(3.5, abs=1e-4)
    assert life_of(long).hours == pytest.approx(12, abs=1e-4)


def test_a_visit_that_nobody_ended_counts_for_a_days_work(story: Wearing) -> None:
    (tag,) = story.gear(1, "A")
    write(story.farm, "arrived", at(30, "07:00"), crew="red", block="N4", detail={"block": "N4"})
    write(story.farm, "handed_out", at(30), tag, crew="red", picker="ana")
    write(story.farm, "returned", at(28), tag)
    assert life_of(tag).hours == pytest.approx(12, abs=1e-4)


def test_spares_in_the_box_rest_and_what_a_crew_shares_is_in_use(story: Wearing) -> None:
    (spare,), (ladder,) = story.gear(1, "A"), story.farm.gear("ladder", days_ago=42)
    story.visit(30)
    for tag in (spare, ladder):
        write(story.farm, "handed_out", at(30), tag, crew="red")
        write(story.farm, "returned", at(30, "15:30"), tag)
    now = timezone.now()
    assert {life.tag: life.hours for life in lives(now, stopping(now))} == {
        ladder: pytest.approx(7, abs=1e-4)
    }


def test_what_was_taken_back_never_was(story: Wearing) -> None:
    (tag,) = story.gear(1, "A")
    story.day(tag, 30)
    found = write(story.farm, "fault_found", at(29, "12:00"), tag, detail={"fault": SPRING})
    assert life_of(tag).fault == SPRING
    take_back(story.farm, found)
    assert life_of(tag).fault == ""


def test_dirt_ends_no_life_nor_does_loss_and_wear_does(story: Wearing) -> None:
    dirty, lost, old, faulty = story.gear(4, "A")
    for tag in (dirty, lost, old):
        story.day(tag, 30)
    write(story.farm, "fault_found", at(29), dirty, detail={"fault": "dirty"})
    story.write_off(lost, 29, "stolen")
    story.write_off(old, 29, "worn_out")
    write(story.farm, "fault_found", at(41), faulty, detail={"fault": LOOP})  # before its first day
    assert [life_of(tag).fault for tag in (dirty, lost, old, faulty)] == ["", "", "worn_out", LOOP]
    assert life_of(faulty).hours == 0


def test_one_handout_breaks_once_however_often_it_is_written_down(story: Wearing) -> None:
    (tag,) = story.gear(1, "A")
    story.day(tag, 30, SPRING)
    write(story.farm, "fault_found", at(29), tag, detail={"fault": SPRING})
    story.write_off(tag, 28, "worn_out")
    assert (life_of(tag).faults, life_of(tag).fault) == (1, SPRING)


def test_an_inspection_that_fails_ends_a_life(story: Wearing) -> None:
    from equipment.actions.inspect_item import all_good

    (tag,) = story.gear(1, "", kind="bag")
    story.day(tag, 30)
    answers = all_good("bag_weekly") | {"seams": "no"}
    write(story.farm, "inspected", at(29), tag, detail={"checklist": "bag_weekly", "answers": answers})
    assert life_of(tag).fault == "bag_torn_seam"


# --- a whole season by hand


def test_a_season_counted_again_by_hand(ruled_farm: Farm, django_assert_num_queries: Any) -> None:
    story, dice = Wearing(ruled_farm, first=30), random.Random(7)
    tags = [*story.gear(4, "A", "D1"), *story.gear(3, "B", "D2")]
    written: list[Entry] = []
    for day in range(30, 1, -2):
        for tag in dice.sample(tags, 5):
            fault = dice.choice([SPRING, LOOP]) if dice.random() < 0.15 else ""
            story.day(tag, day, fault, dice.choice(["red", "blue"]), dice.choice(["08:15", "10:20", "14:59"]))
        if dice.random() < 0.3:
            take_back(
                ruled_farm, dice.choice(list(Entry.objects.filter(verb="fault_found")) or written or [_any()])
            )
    now = timezone.now()
    codes = stopping(now)
    with django_assert_num_queries(1):
        found = lives(now, codes)
    wanted = {tag: by_hand(tag) for tag in tags}
    assert {life.tag: round(life.hours, 3) for life in found} == {
        tag: round(first, 3) for tag, (first, _all, _faults, _sorts) in wanted.items()
    }
    assert {life.tag: round(life.all_hours, 3) for life in found} == {
        tag: round(whole, 3) for tag, (_first, whole, _faults, _sorts) in wanted.items()
    }
    assert {life.tag: life.faults for life in found} == {
        tag: faults for tag, (_f, _a, faults, _s) in wanted.items()
    }
    _use_by_hand(wanted, now, django_assert_num_queries)


def _any() -> Entry:
    return Entry.objects.filter(verb="fault_found").first() or Entry.objects.filter(verb="returned")[0]


def by_hand(tag: str) -> tuple[float, float, int, Counter[tuple[str, str]]]:
    """Hours until the first fault, all hours, faults, and hours by crew: through the piece's entries, one by one."""
    undone = {entry.detail["entry"] for entry in Entry.objects.filter(verb="reversed")}
    entries = Entry.objects.filter(item__state__tag=tag).order_by("happened_at", "pk")
    standing = [entry for entry in entries if str(entry.pk) not in undone]
    hours, first, faults, used = 0.0, None, 0, Counter[tuple[str, str]]()
    out: Entry | None = None
    broke_since = False
    for entry in standing:
        if entry.verb not in ("handed_out", "returned", "fault_found"):
            continue
        if out is not None:
            spells = visited(out.crew_id, out.happened_at, entry.happened_at)
            spell = sum(((high - low) / HOUR for low, high in spells), 0.0)
            hours += spell
            used[str(out.crew_id), "hours"] += spell  # type: ignore[assignment]
            used[str(out.crew_id), "swaps"] += entry.verb == "fault_found"
        out = entry if entry.verb == "handed_out" else None
        if entry.verb == "handed_out":
            broke_since = False
        if entry.verb == "fault_found":
            faults += not broke_since
            broke_since = True
            first = hours if first is None else first
    return hours if first is None else first, hours, faults, used


def visited(crew: str | None, at: datetime, until: datetime) -> Iterator[tuple[datetime, datetime]]:
    for visit in Visit.objects.filter(crew=crew):
        low, high = max(visit.at, at), min(visit.until or until, until)
        if low < high:
            yield low, high


def _use_by_hand(wanted: dict[str, Any], now: datetime, one_query: Any) -> None:
    recent, codes = now - timedelta(days=10), stopping(now)
    with one_query(1):
        found = use_by_crew(now, recent, codes)
    together = sum((used for *_, used in wanted.values()), Counter())
    for each in found:
        assert each.hours == pytest.approx(together[each.crew, "hours"], abs=1e-3)
        assert each.swaps == together[each.crew, "swaps"]
        assert 0 < each.recent_hours < each.hours and 0 < each.recent_days <= 5
    assert len(found) == 2
    with one_query(1):
        makes = use_by_make(now, recent, codes)
    assert [each.make for each in makes] == ["A", "B"]
    assert sum(each.hours for each in makes) == pytest.approx(sum(each.hours for each in found))


# --- money and stock


def test_costs_by_the_crew_that_had_it_last(ruled_farm: Farm, django_assert_num_queries: Any) -> None:
    story = Wearing(ruled_farm, first=40)
    lost, old, mended, unpriced = *story.gear(3, "A", price=150), *story.gear(1, "B")
    for tag in (lost, old, mended, unpriced):
        story.day(tag, 30, crew="blue" if tag == old else "red")
    story.write_off(lost, 20, "lost")
    story.write_off(old, 20, "broken")
    story.write_off(unpriced, 20, "disputed")
    write(ruled_farm, "fault_found", at(25), mended, detail={"fault": SPRING})
    story.mend(mended, 24, minutes=7)
    undone = story.gear(1, "A", price=150)[0]
    take_back(ruled_farm, write(ruled_farm, "written_off", at(20), undone, detail={"circumstance": "lost"}))
    today = timezone.localdate()
    with django_assert_num_queries(1):
        found = costs(today - timedelta(days=33), today)
    red, blue = ruled_farm.crews["red"].pk, ruled_farm.crews["blue"].pk
    assert {(c.crew, c.what): (c.times, c.money, c.unpriced, c.minutes) for c in found} == {
        (red, "lost"): (2, 150.0, 1, 0),
        (red, "mended"): (1, 0.0, 0, 7),
        (blue, "worn"): (1, 150.0, 0, 0),
    }
    assert costs(today - timedelta(days=10), today) == []
    with django_assert_num_queries(1):
        assert left(timezone.now()) == {("clippers", "", ""): 3}


def test_stock_and_the_busiest_day(ruled_farm: Farm, django_assert_num_queries: Any) -> None:
    story = worn(ruled_farm)
    with django_assert_num_queries(1):
        found = stock()
    gone = ItemState.objects.filter(place="gone").count()
    broken = sum(1 for row in ItemState.objects.exclude(place="gone") if row.reasons)
    assert gone == 1 and broken == 6
    assert found["clippers", "", ""] == Stock(5, 6)
    now = timezone.now()
    with django_assert_num_queries(1):
        (most,) = busiest(now, at(story.first + 1))
    assert most.pieces == 12
    assert busiest(now, now - timedelta(days=1)) == []


# --- what the farm sets


def test_what_the_farm_sets_is_a_rule_of_its_own(ruled_farm: Farm) -> None:
    now = timezone.now()
    found = chosen(now)
    assert (found.level, found.weeks, found.hour_cost) == (0.95, 4, 0)
    assert found.costs("clippers") == Costs(4, 22) and found.costs("toolbox") == Costs(0, 0)
    set_rule(ruled_farm.users["frank"], "figures clippers", {"planned_cost": 9}, "springs cost more", now)
    set_rule(ruled_farm.users["frank"], "figures farm", {"level_pct": 80, "hour_cost": 60}, "enough", now)
    found = chosen(timezone.now())
    assert found.costs("clippers") == Costs(9, 22) and (found.level, found.hour_cost) == (0.8, 60)
    assert Rule.objects.filter(subject="figures clippers").count() == 2


def test_a_fault_that_no_longer_stops_the_use_ends_no_life(ruled_farm: Farm) -> None:
    now = timezone.now()
    assert SPRING in stopping(now) and "dirty" not in stopping(now) and "bag_dirty" not in stopping(now)
    set_rule(ruled_farm.users["olga"], f"fault {SPRING}", {"severity": "note"}, "we carry spares", now)
    assert SPRING not in stopping(timezone.now())
