"""A day on the small farm that takes a disease from one block to another: for tests of the trace's pages and API."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.utils import timezone

from crews.models import Block
from equipment.actions.writing import Pen, new_id
from equipment.models import Item
from tests.cast import Farm

# Hours and minutes of yesterday on the farm's clock; `now` is now.
CLOCK = {
    "handed": (6, 0),
    "arrived": (7, 10),
    "there": (6, 30),
    "left": (9, 40),
    "dipped": (9, 50),
    "came": (10, 5),
    "over": (13, 0),
    "back": (9, 58),
}


@dataclass
class Day:
    """Yesterday: the red crew in N4 with Ana's and Ben's clippers, then in S2, where the blue crew is with Cy's. Ben's
    were dipped in between and went home. `ana`, `ben` and `cy` are the tags."""

    farm: Farm
    date: date
    tags: dict[str, str] = field(default_factory=dict)

    @property
    def ana(self) -> str:
        return self.tags["ana"]

    @property
    def ben(self) -> str:
        return self.tags["ben"]

    @property
    def cy(self) -> str:
        return self.tags["cy"]

    def at(self, when: str) -> datetime:
        if when == "now":
            return timezone.now()
        hour, minute = CLOCK[when]
        return timezone.make_aware(datetime(self.date.year, self.date.month, self.date.day, hour, minute))

    def tell(self, when: str, verb: str, **fields: Any) -> UUID:
        pen = Pen(self.farm.users["rosa"], "A", timezone.now())
        draft = pen.draft(verb, happened_at=self.at(when), **fields)
        assert pen.record([draft], "note").outcomes[0].recorded
        return draft.id

    def visit(self, crew: str, block: str, when: str, until: str) -> None:
        code = self.farm.crews[crew].pk
        self.tell(when, "arrived", crew=code, block=block, detail={"block": block})
        self.tell(until, "left", crew=code)

    def hand_out(self, who: str, crew: str, when: str, kind: str = "clippers") -> str:
        (tag,) = self.farm.gear(kind, days_ago=3)
        picker = self.farm.pickers[who].pk
        self.tell(when, "handed_out", item=self.item(tag), crew=self.farm.crews[crew].pk, picker=picker)
        return tag

    def item(self, tag: str) -> UUID:
        return Item.objects.get(state__tag=tag).pk


VIROID: Mapping[str, Any] = {
    "recipe": "clippers_viroid_bleach",
    "litres": 10,
    "product_ml": 2000,
    "strength_pct": 5,
}


def a_day(farm: Farm) -> Day:
    """On a farm with the rules in force."""
    Block.objects.create(code="S9", crop="orange")
    day = Day(farm, timezone.localdate() - timedelta(days=1))
    for who, crew in (("ana", "red"), ("ben", "red"), ("cy", "blue")):
        day.tags[who] = day.hand_out(who, crew, "handed")
    day.visit("red", "N4", "arrived", "left")
    bath = new_id()
    day.tell("left", "mixed", bath=bath, detail=dict(VIROID))
    dip = {"method": "sterilise", "seconds": 700}
    day.tell("dipped", "cleaned", item=day.item(day.ben), bath=bath, detail=dip)
    day.visit("blue", "S2", "there", "over")
    day.visit("red", "S2", "came", "over")
    day.tell("back", "returned", item=day.item(day.ben), crew=farm.crews["red"].pk)
    return day
