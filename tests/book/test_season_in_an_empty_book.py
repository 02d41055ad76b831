"""A season is played from a seed, and only into a book where it cannot be taken for what happened."""

from collections import Counter
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import transaction
from django.utils import timezone

from crews.models import DayPlan
from equipment.actions.simulate import NotNow, Season, chances, simulate_season
from equipment.actions.simulate.plans import working_days
from equipment.models import Entry
from tests.commands import manage
from tests.estate import found_estate


@pytest.fixture
def estate(db: None) -> Season:
    """The farm, and a season that may begin the day after it was founded."""
    to_come = Season(timezone.localdate() - timedelta(days=1), days=3, seed=11)
    found_estate(to_come)
    return to_come


def story() -> list[tuple[Any, ...]]:
    """All that the book says, but for the salts of its notes and what is sealed with them."""
    columns = "id store position verb detail item crew picker block act by device device_seq happened_at recorded_at"
    return [
        *Entry.objects.order_by("store", "position").values_list(*columns.split()),
        *DayPlan.objects.order_by("date", "crew", "part").values_list(
            "date", "crew", "part", "block", "clipped", "state"
        ),
    ]


def played(season: Season) -> list[tuple[Any, ...]]:
    """The story of a season that is then taken back."""
    with transaction.atomic():
        simulate_season(season)
        told = story()
        transaction.set_rollback(True)
    return told


def test_the_same_seed_tells_the_same_story_and_another_one_another(estate):
    first = played(estate)
    assert played(estate) == first
    other = played(Season(estate.last, estate.days, seed=12))
    assert len(other) > 500 and other != first


def test_a_season_is_refused_where_it_would_mix_with_a_real_one(estate):
    today = timezone.localdate()
    with pytest.raises(NotNow, match="ends yesterday"):
        simulate_season(Season(today, 3))
    with pytest.raises(NotNow, match="at least one day"):
        simulate_season(Season(estate.last, 0))
    with pytest.raises(NotNow, match="must come after that day"):
        simulate_season(Season(estate.last, estate.days + 1))
    assert not DayPlan.objects.exists()
    assert manage("simulate_season", "--days", "3", "--seed", "5")[2] == 0
    out, err, code = manage("simulate_season", "--days", "3")
    assert code == 1 and "handed out" in err and not out


def test_a_season_needs_a_farm(db):
    _out, err, code = manage("simulate_season")
    assert code == 1 and "Import them first" in err


def test_everything_happens_in_a_season_of_any_length():
    for days in (1, 2, 26, 180):
        happened: Counter[str] = Counter()
        for day in range(days):
            happened += chances.on(day, days)
        assert happened == Counter({what: len(places) for what, places in chances.HAPPENINGS.items()})


def test_working_days_leave_sundays_out():
    monday = date(2026, 3, 2)
    assert working_days(monday, monday + timedelta(days=7)) == [
        monday + timedelta(days=n) for n in (0, 1, 2, 3, 4, 5, 7)
    ]
    sunday = monday + timedelta(days=6)
    assert sunday in working_days(monday, sunday, always=[sunday])
