"""Lessons and pickers' sides in a simulated season, beside which the season is what it was."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import transaction
from django.utils import timezone

from equipment.actions import simulate
from equipment.actions.simulate import Season, simulate_season
from equipment.models import Entry
from tests.estate import found_estate

OWN = ("trained", "heard")


def played() -> list[Any]:
    """What happened otherwise, and when."""
    season = Season(timezone.localdate() - timedelta(days=1), days=7, seed=11)
    found_estate(season)
    simulate_season(season)
    told = Entry.objects.exclude(verb__in=("registered", "joined", *OWN)).order_by("happened_at", "id")
    return list(told.values_list("id", "verb", "happened_at"))


@pytest.mark.only_on("sqlite")
@pytest.mark.django_db
def test_the_rest_of_the_season_is_the_same_with_them_and_without(monkeypatch: pytest.MonkeyPatch) -> None:
    with transaction.atomic():
        with_them = played()
        check_lessons()
        check_sides()
        transaction.set_rollback(True)
    monkeypatch.setattr(simulate, "lessons", lambda day: None)
    assert played() == with_them
    assert not Entry.objects.filter(verb__in=OWN).exists()


def check_lessons() -> None:
    """Each is one act, of one crew."""
    acts: dict[Any, set[Any]] = {}
    for entry in Entry.objects.filter(verb="trained"):
        acts.setdefault(entry.act, set()).add((entry.crew_id, entry.detail["topic"], entry.by_id))
    assert len(acts) > 1 and all(len(told) == 1 for told in acts.values())


def check_sides() -> None:
    """Each is of whoever had the piece last, and says something."""
    sides = Entry.objects.filter(verb="heard")
    assert sides
    for heard in sides:
        handed = Entry.objects.filter(item=heard.item, verb="handed_out", happened_at__lt=heard.happened_at)
        assert handed.latest("happened_at").picker == heard.picker
        assert heard.written_note.text
