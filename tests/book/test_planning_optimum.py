"""Through the whole path, pieces in the database: the plan's minutes against trying every choice.

What was done to each piece, and the catalogue's minutes for it, are written down here once more; nothing is asked of
the code under test but the plan itself.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from itertools import product
from random import Random

import pytest
from django.utils import timezone

from equipment.actions.clean import Way, clean
from equipment.actions.report_fault import report_fault
from equipment.models.planning import evening
from tests.cast import Farm
from tests.covering import Sort, most_served
from tests.washing import mixed, pen, states

pytestmark = pytest.mark.django_db

# Minutes, from faults.toml, cleaning.toml and work.toml.
MIX, POUR = 12, 2
DIP, WIPE = 1, 2
HANDS = {
    "clippers fit": 0,
    "clippers due": 0,
    "clippers blunt": 10,
    "clippers springless": 5,
    "clippers dirty": 5,
    "bag fit": 0,
    "bag holed": 20,
    "bag buckled": 10,
    "bag wet": 1,
    "bag dirty": 6,
}
FAULTS = {
    "blunt": "clippers_blunt",
    "springless": "clippers_worn_spring",
    "dirty": "dirty",
    "holed": "bag_hole",
    "buckled": "bag_broken_buckle",
    "wet": "wet",
}
# Ana cuts with the right hand, Ben with the left; a spare for up to ten people, and in the hand that comes first.
ASKED: dict[Sort, int] = {
    ("bag", "", ""): 3,
    ("clippers", "", "left"): 2,
    ("clippers", "", "right"): 1,
}


@dataclass(frozen=True)
class Laid:
    """A piece as it was laid there; clippers are to dip unless they are fit."""

    sort: Sort
    state: str

    @property
    def fit(self) -> bool:
        return self.state.endswith(" fit")

    def ways(self, stands: bool) -> Iterator[tuple[int, str]]:
        """Minutes, and what it goes into."""
        hands = HANDS[self.state]
        if self.sort[0] == "bag":
            yield hands, ""
            return
        yield hands + DIP, "bath"
        yield hands + WIPE, "jar"
        if stands:
            yield hands + DIP, "standing"


def lay(farm: Farm, random: Random) -> list[Laid]:
    found = []
    for _ in range(random.randrange(5, 8)):
        state = random.choice(list(HANDS))
        kind, what = state.split()
        hand = random.choice(["left", "right", ""]) if kind == "clippers" else ""
        (tag,) = farm.gear(kind, days_ago=1, **({"hand": hand} if hand else {}))
        (row,) = states(tag)
        if what == "fit" and kind == "clippers":
            way = Way("sterilise", recipe="clippers_alcohol", seconds=60)
            assert all(outcome.recorded for outcome in clean(pen(farm, 5), [row], way))
        if what in FAULTS:
            assert report_fault(pen(farm, 4), row, FAULTS[what]).recorded
        found.append(Laid((kind, "", hand), state))
    return found


def best(laid: list[Laid], stands: bool) -> tuple[int, int]:
    """(pieces served, fewest minutes) of all choices."""
    mixing = {"bath": MIX, "jar": POUR, "standing": 0, "": 0}
    there = [piece.sort for piece in laid if piece.fit]
    todo = [piece for piece in laid if not piece.fit]
    found = []
    for choice in product(*([None, *piece.ways(stands)] for piece in todo)):
        done = [way for way in choice if way]
        made = [piece.sort for piece, way in zip(todo, choice, strict=True) if way]
        minutes = sum(minutes for minutes, _ in done) + sum(
            mixing[into] for into in {into for _, into in done}
        )
        found.append((-most_served(ASKED, there + made), minutes))
    served, fewest = min(found)
    return -served, fewest


@pytest.mark.parametrize("seed", range(14))
def test_the_minutes_are_the_fewest_of_all_choices(ruled_farm: Farm, seed: int) -> None:
    random = Random(seed)
    farm = ruled_farm
    for name, hand in (("ana", "right"), ("ben", "left")):
        farm.pickers[name].hand = hand
        farm.pickers[name].save()
    farm.plan("red", "S2", days=1)
    laid = lay(farm, random)
    stands = random.random() < 0.3
    if stands:
        mixed(farm, 30)
    now = timezone.now()
    store = evening(timezone.localdate(now) + timedelta(days=1), now).stores[0]
    asked = {tuple(sort.gear): sort for sort in store.sorts if sort.gear.kind in ("bag", "clippers")}
    assert {gear: sort.asked for gear, sort in asked.items()} == ASKED
    served, fewest = best(laid, stands)
    assert sum(ASKED.values()) - sum(sort.stays_short for sort in asked.values()) == served
    assert store.plan.minutes == fewest
