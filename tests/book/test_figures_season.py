"""The weak springs that are planted in the demo's season: the figures find the make, its fault and its delivery."""

from dataclasses import replace
from datetime import date, datetime, time

import pytest
from django.utils import timezone

from equipment.actions.demo import farm
from equipment.actions.simulate import Season, simulate_season
from equipment.actions.simulate.farm import Weak
from equipment.documents.figures import around, lifetimes
from tests.estate import found_estate

pytestmark = pytest.mark.django_db
PLANTED = Weak(**farm()["season"]["weak"][0])
# A part of the farm has few of that make: here the fault is planted in the make that it has most of, and comes sooner.
WEAK = replace(PLANTED, make="Snawel", times_as_often=30)
# Always the same days, so that the same seed gives the same season.
SEASON = Season(date(2025, 6, 27), days=10, seed=31, weak=(WEAK,))


def test_the_make_with_weak_springs_is_found(db: None) -> None:
    found_estate(SEASON)
    simulate_season(SEASON)
    beside = around(timezone.make_aware(datetime.combine(SEASON.last, time(20))))
    found = lifetimes.makes(beside, WEAK.kind)
    advised = {each.name: each.advice for each in found if each.advice.code in lifetimes.ACTED_ON}
    assert set(advised) == {WEAK.make}
    assert advised[WEAK.make].fault == WEAK.fault and advised[WEAK.make].code == "change"
    assert advised[WEAK.make].law is not None and advised[WEAK.make].law.shape > 1.5
    weak = next(each for each in found if each.name == WEAK.make)
    recalled = lifetimes.recalled(found)[WEAK.kind]
    assert recalled[0].delivery in {life.delivery for life in weak.pieces}
    says, waits = lifetimes.sentences(beside, found)
    assert recalled[0].delivery in says[0] and "Worn spring" in says[len(recalled)]
    assert len(waits) == len(found) - 1
