"""Numbers are given out in order; one that a slip turns into another that is given is left out."""

import pytest

from crews.models import Badge, NumberSeries
from equipment.actions.make_tags import make_day_cards
from equipment.actions.register import Run, register
from equipment.domain import codes
from equipment.models import Kind
from tests.cast import Farm

pytestmark = pytest.mark.django_db


def test_gear_leaves_the_higher_of_twins_out(farm: Farm) -> None:
    assert codes.twins("BG", 23) == {32}
    tags = farm.gear("bag", 40)
    numbers = [codes.parse(tag).number for tag in tags]
    assert len(set(tags)) == 40 and numbers == [number for number in range(1, 42) if number != 32]


def test_cards_do_too(farm: Farm) -> None:
    NumberSeries.objects.filter(prefix=codes.BADGE).update(last=39)
    assert codes.twins("PK", 40) == {41}
    assert [codes.parse(card).number for card in make_day_cards(3)] == [40, 42, 43]
    assert Badge.objects.filter(day_card=True).count() == 3


def test_a_tag_that_a_piece_wears_already_stays(farm: Farm) -> None:
    """From an import, say, or from before: only what is given out anew is chosen."""
    worn = codes.make("BG", 32)
    assert register(farm.pen(), [Run(Kind.objects.get(pk="bag"), "A", tag=worn)]) == [worn]
