"""What the board counts, over a day."""

from django.utils import timezone

from equipment.models.board import board
from tests.cast import Farm
from tests.farm import Post


def test_who_was_served_stays_served_when_the_gear_is_back(farm: Farm, post: Post) -> None:
    bag, other = farm.gear("bag", 2)
    post(farm.entry("handed_out", item=bag, picker=farm.badges["ana"]))
    post(farm.entry("returned", item=bag))
    wrong = farm.entry("handed_out", item=other, picker=farm.badges["ben"])
    post(wrong)
    post(farm.entry("reversed", item=other, detail={"entry": wrong["id"]}))
    (red,) = board(timezone.localdate(), [farm.crews["red"].pk])
    assert (red.pickers, red.served, red.out) == (2, 1, 0)
