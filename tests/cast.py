"""A small named cast and a small farm: two stores, two crews, a handful of people and their gear.

Rosa keeps store A, Sam leads the red crew, Olga is the safety officer, Mo mends, Frank manages. Ana and Ben pick in
the red crew, Cy in the blue one.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.contrib.auth.models import Group
from django.utils import timezone

from crews.models import Badge, Block, Crew, DayPlan, Device, Picker, Store, User
from equipment.actions.change_crew import join
from equipment.actions.lend_badge import lend_new
from equipment.actions.load_catalogue import load_catalogue
from equipment.actions.register import Run, register
from equipment.actions.writing import Pen, new_id
from equipment.domain import codes
from equipment.models import Kind

PASSWORD = "a dry ladder stands"
ROLES = {
    "rosa": "storeman",
    "sam": "supervisor",
    "olga": "safety officer",
    "mo": "mender",
    "frank": "manager",
}


@dataclass
class Farm:
    """`badges`, `pickers` and `users` by first name, `crews` by colour, `device` the counter of store A."""

    users: dict[str, User]
    stores: dict[str, Store]
    crews: dict[str, Crew]
    pickers: dict[str, Picker]
    badges: dict[str, str]
    device: Device
    sequence: int = 0
    pens: dict[str, Pen] = field(default_factory=dict)

    def pen(self, name: str = "rosa", store: str = "A") -> Pen:
        return Pen(self.users[name], store, timezone.now())

    def gear(
        self, kind: str, count: int = 1, store: str = "A", days_ago: int = 0, **traits: Any
    ) -> list[str]:
        pen = Pen(self.users["rosa"], store, timezone.now() - timedelta(days=days_ago))
        return register(pen, [Run(Kind.objects.get(pk=kind), store, count, traits)])

    def entry(self, verb: str, **fields: Any) -> dict[str, Any]:
        """An entry as a client sends it."""
        self.sequence += 1
        return {
            "id": str(fields.pop("id", None) or new_id()),
            "verb": verb,
            "happened_at": (fields.pop("at", None) or timezone.now()).isoformat(),
            "device_seq": fields.pop("device_seq", self.sequence),
            "detail": fields.pop("detail", {}),
            **fields,
        }

    def batch(self, entries: Sequence[Any], gate: str = "hold", **fields: Any) -> dict[str, Any]:
        sent = {"device": str(self.device.pk), "sent_at": timezone.now().isoformat(), "gate": gate}
        return {**sent, "store": "A", "entries": list(entries), **fields}

    def plan(self, crew: str, block: str, days: int = 0, **fields: Any) -> DayPlan:
        day = timezone.localdate() + timedelta(days=days)
        return DayPlan.objects.create(date=day, crew=self.crews[crew], block_id=block, **fields)


def user(name: str, role: str) -> User:
    person = User.objects.create_user(name, password=PASSWORD)
    person.groups.add(Group.objects.get(name=role))
    return person


def found_farm(*, rules: bool = False) -> Farm:
    """Without `rules` nothing need be cleaned or inspected: most tests are of something else."""
    load_catalogue(rules=rules)
    users = {name: user(name, role) for name, role in ROLES.items()}
    stores = {code: Store.objects.create(code=code, name=f"Store {code}") for code in "AB"}
    colours = {"red": "A", "blue": "B"}
    crews = {
        colour: Crew.objects.create(
            code=codes.make(codes.CREW, number), name=f"{colour.title()} crew", store=stores[store]
        )
        for number, (colour, store) in enumerate(colours.items(), start=1)
    }
    Crew.objects.filter(pk=crews["red"].pk).update(supervisor=users["sam"])
    Block.objects.create(code="N4", crop="lemon", tall_trees=True)
    Block.objects.create(code="S2", crop="orange")
    names = {"ana": "red", "ben": "red", "cy": "blue"}
    pickers = {
        name: Picker.objects.create(number=str(number), name=name.title())
        for number, name in enumerate(names, start=1)
    }
    earlier = timezone.now() - timedelta(days=30)
    cards = lend_new(list(pickers.values()), earlier.date())
    device = Device.objects.create(id=UUID(int=7), kind=Device.Kind.COUNTER, name="A1", store=stores["A"])
    badges = {name: card.pk for name, card in zip(names, cards, strict=True)}
    farm = Farm(users, stores, crews, pickers, badges, device)
    for name, colour in names.items():
        join(farm.pen(), [pickers[name]], crews[colour], at=earlier)
    return farm


def day_card() -> Badge:
    return Badge.objects.create(code=codes.make(codes.BADGE, 9001), day_card=True)


def at(text: str, day: datetime | None = None) -> datetime:
    """A time of today (or `day`) on the farm's clock, "05:30"."""
    hour, minute = (int(part) for part in text.split(":"))
    return (day or timezone.localtime()).replace(hour=hour, minute=minute, second=0, microsecond=0)
