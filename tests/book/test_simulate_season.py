"""A simulated season is a book like any other: whole, in order, and with all that happens on a farm in it."""

from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import date, time, timedelta
from typing import Any

import pytest
from django.db import transaction
from django.utils import timezone

from crews.models import BadgeLoan, DayPlan, DayPlanChange
from equipment.actions.simulate import Season, simulate_season
from equipment.actions.verify_book import verify_book
from equipment.domain.verbs import VERBS
from equipment.models import Attempt, Discrepancy, Entry, ItemState, Membership, Stocktake, stocktaking
from tests.estate import found_estate

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def season(django_db_setup: None, django_db_blocker: Any) -> Iterator[Season]:
    """One season for all tests here that only look at it."""
    with django_db_blocker.unblock(), transaction.atomic():
        played = Season(timezone.localdate() - timedelta(days=1), days=12, seed=11)
        found_estate(played)
        simulate_season(played)
        yield played
        transaction.set_rollback(True)


def local(at: Any) -> Any:
    return timezone.localtime(at)


def test_the_book_of_a_season_verifies(season):
    verified = verify_book()
    assert verified.clean, list(map(str, verified.findings))
    assert verified.entries == Entry.objects.count() > 1_000


def test_every_place_is_reached(season):
    places = set(ItemState.objects.values_list("place", flat=True))
    assert places == set(ItemState.Place.values)


@pytest.mark.only_on("sqlite")
def test_every_verb_is_spoken(season):
    assert set(Entry.objects.values_list("verb", flat=True)) == set(VERBS)


def test_no_piece_is_in_two_hands(season):
    """Walked through here without the fold: who has it now, and did it leave them before the next one got it?"""
    undone = {
        str(detail["entry"])
        for detail in Entry.objects.filter(verb="reversed").values_list("detail", flat=True)
    }
    doubted = set(Discrepancy.objects.values_list("entry_id", flat=True))
    holder: dict[Any, Any] = {}
    for entry in Entry.objects.filter(item__isnull=False).order_by("happened_at", "device_seq"):
        if str(entry.pk) in undone:
            continue
        if entry.verb == "handed_out":
            before = holder.get(entry.item_id)
            given = entry.detail.get("from") in (f"picker:{before}", f"crew:{before}")
            assert before is None or given or entry.pk in doubted, entry
            holder[entry.item_id] = entry.picker_id or entry.crew_id
        elif entry.verb == "returned":
            assert holder.get(entry.item_id) or entry.pk in doubted, entry
            holder[entry.item_id] = None
        elif entry.verb in ("missed", "found", "written_off"):
            holder[entry.item_id] = None
    out = ItemState.objects.out().values_list("item", "picker", "crew")
    assert {item: picker or crew for item, picker, crew in out} == {
        i: who for i, who in holder.items() if who
    }


def test_each_line_was_written_soon_after_it_happened_and_in_order(season):
    last: dict[str, Any] = {}
    for entry in Entry.objects.order_by("store", "position"):
        assert timedelta(0) <= entry.recorded_at - entry.happened_at <= timedelta(minutes=30), entry
        assert entry.recorded_at >= last.get(entry.store_id, entry.recorded_at), entry
        last[entry.store_id] = entry.recorded_at


def test_it_ends_yesterday_evening_and_sundays_are_free(season):
    handed_out = Entry.objects.filter(verb="handed_out", picker__isnull=False)
    times = [local(at) for at in handed_out.values_list("happened_at", flat=True)]
    assert {at.date() for at in times} == set(season.picked)
    assert max(times).date() == season.last == timezone.localdate() - timedelta(days=1)
    assert all(day.weekday() != 6 or day == season.last for day in season.picked)
    at_counters = sum(at.time() < time(6, 30) for at in times)
    assert at_counters > 0.97 * len(times)
    assert max(local(at) for at in Entry.objects.values_list("happened_at", flat=True)).hour < 20


def test_what_goes_wrong_on_a_farm_is_in_it(season):
    assert {"already_out", "cleaning_due", "unknown_item", "written_off"} == {
        code for codes in Attempt.objects.values_list("codes", flat=True) for code in codes
    }
    waiting = Counter(Discrepancy.objects.values_list("settled", flat=True))
    assert waiting[True] == 1 and waiting[False] == 2
    assert BadgeLoan.objects.filter(badge__day_card=True).count() >= 2
    assert BadgeLoan.objects.filter(badge__died_on__isnull=False).count() == 1
    states = set(DayPlanChange.objects.values_list("state", flat=True))
    assert states == {"changed", "stopped", "cancelled"}
    assert all(DayPlanChange.objects.values_list("why", flat=True))
    assert ItemState.objects.filter(wet=True).exists()


def test_the_last_evening_is_a_stocktake_with_every_kind_of_surprise(season):
    own = Stocktake.objects.get()
    found = stocktaking.count(own)
    said = Counter(line.settled.said for line in found.lines.values() if line.settled)
    assert said == {"missed": 1, "label_twin": 1, "sent_back": 1, "stays_gone": 1}
    assert [row.choice for row in found.unknown] == ["not_ours"]
    assert own.ended_at and not found.sums["open"] and found.sums["seen"] > 5


def test_this_morning_can_begin(season):
    today = timezone.localdate()
    assert DayPlan.objects.filter(date=today).exclude(state="cancelled").exists()
    assert DayPlan.objects.filter(date__gt=today).order_by().values("date").distinct().count() >= 6
    packed = ItemState.objects.exclude(packed_in=None)
    assert packed.filter(place="store").count() == packed.count() > 5
    overdue = ItemState.objects.filter(place="picker", item__kind__comes_back="tonight")
    assert 0 < overdue.count() <= 12
    in_store = ItemState.objects.filter(place="store", item__kind="bag").count()
    assert in_store >= Membership.objects.current().count()


def test_there_are_ladders_for_all_who_need_them(season):
    ladders = Counter(ItemState.objects.filter(item__kind="ladder").values_list("store", flat=True))
    people = Counter(Membership.objects.current().values_list("crew", flat=True))
    needed: dict[tuple[date, str], int] = defaultdict(int)
    for plan in DayPlan.objects.filter(block__tall_trees=True, part__in=("day", "morning")).select_related(
        "crew"
    ):
        needed[plan.date, plan.crew.store_id] += -(-people[plan.crew_id] // 3)
    assert needed
    assert all(count <= ladders[store] for (_, store), count in needed.items())
