"""The ill block that is planted in the demo's season: the trace leads to exactly the planted pieces."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from django.db import transaction
from django.utils import timezone

from equipment.actions.demo import farm
from equipment.actions.simulate import Ill, Planted, Season, simulate_season
from equipment.actions.trace.running import disease_of, run
from equipment.actions.verify_book import verify_book
from equipment.domain.disease_trace import Question
from equipment.models import Entry
from tests.estate import found_estate

pytestmark = pytest.mark.django_db
ABOUT = farm()["season"]["ill"]
SEASON = Season(
    timezone.localdate() - timedelta(days=1),
    days=2,
    seed=31,
    ill=Ill(ABOUT["kind"], ABOUT["pieces"], tuple(ABOUT["blocks"])),
)


def told() -> list[Any]:
    """What the book tells, without what is random in every book."""
    rows = Entry.objects.order_by("store", "position")
    return list(
        rows.values_list("verb", "happened_at", "item__state__tag", "crew", "picker__number", "block")
    )


def test_the_trace_leads_to_exactly_what_was_planted(db: None) -> None:
    found_estate(SEASON)
    with transaction.atomic():
        assert simulate_season(replace(SEASON, ill=None)).ill is None
        without = told()
        transaction.set_rollback(True)
    planted = simulate_season(SEASON).ill
    assert planted is not None
    check_trace(planted)
    added = set(told()) - set(without)
    assert set(without) < set(told())  # the rest of the season is what it was
    tags = {tag for _verb, _at, tag, *_ in added if tag}
    assert tags == {*planted.worked, *planted.met, *planted.before}
    assert len(added) == 2 * len(tags) + 4  # out and back, and two visits
    assert verify_book().clean


def check_trace(planted: Planted) -> None:
    assert len(planted.worked) == len(planted.met) == ABOUT["pieces"] and len(planted.before) == 1
    disease = disease_of("exocortis")
    assert disease is not None
    # The office knows the day only.
    midnight = timezone.localtime(planted.since).replace(hour=0, minute=0, second=0)
    found = run(disease, Question(planted.block, midnight, timezone.now()))
    reached = {found.tag(piece) for piece in found.pieces}
    assert reached == {*planted.worked, *planted.met}
    assert [code for code, _ in found.blocks] == [planted.then]
    assert {found.tag(piece) for piece in found.carrying} == reached
    first = {found.tag(piece) for piece in found.pieces if found.first_reached(piece) == planted.since}
    assert first == set(planted.worked)
