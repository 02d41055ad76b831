"""Sixty crews in the orchard, and what their supervisors' phones have to tell of them: two batches of 500 each."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import chain, count, islice
from typing import Any

from django.contrib.auth.models import Group
from django.utils import timezone

from crews.models import Crew, Device, Picker, User
from equipment.actions.change_crew import join
from equipment.actions.lend_badge import lend_new
from equipment.actions.writing import new_id
from equipment.domain import codes
from equipment.models import ItemState
from tests.cast import Farm

CREWS, CREWS_OF_A_PHONE, PICKERS = 60, 3, 8
SPARES, LADDERS, DIPS = 3, 2, 5
BATCH, BATCHES = 500, 2
DIP = {"method": "sterilise", "recipe": "clippers_daily_bleach", "seconds": 600}
BATH = {"recipe": "clippers_daily_bleach", "litres": 10, "product_ml": 1000}
FAULT = {"fault": "clippers_blunt"}
MEND = {**FAULT, "method": "filed", "minutes": 5, "where": "orchard"}
CHECKED = {
    **dict.fromkeys(("kits", "gloves_dry", "fruit_dry"), "yes"),
    **dict.fromkeys(("long_nails", "open_wounds", "first_aid_kits", "water", "toilets", "hand_washing"), 0),
    **{"present": PICKERS, "temperature": 21, "humidity": 55},
}
LADDER = {
    "checklist": "ladder_daily",
    "answers": dict.fromkeys(("rungs", "stiles", "feet", "third_leg", "stands"), "yes"),
}
Told = dict[str, Any]


@dataclass
class Gang:
    """A crew, the cards of its pickers, the tags of what each of them has, and of what the crew has for all."""

    crew: str
    badges: list[str]
    bags: list[str]
    clippers: list[str]
    spares: list[str]
    ladders: list[str]

    def days(self) -> Iterator[Told]:
        """Day after day; on the first they have their gear already."""
        for number in count():
            if number:
                yield from (_of(tag, "handed_out", picker=who) for who, tag in self.carried())
            yield from self.day()

    def day(self) -> Iterator[Told]:
        """Checks, visits, dips, three clippers broken and a spare given for each, mends, washing, something lost and
        found, and knock-off."""
        bath, blocks = str(new_id()), ("N4", "S2")
        yield {"crew": self.crew, "verb": "morning_checked", "detail": {"answers": CHECKED}}
        yield from (_of(tag, "inspected", LADDER) for tag in self.ladders)
        yield {"bath": bath, "verb": "mixed", "detail": BATH}
        for nth in range(DIPS):
            yield {"crew": self.crew, "verb": "arrived", "block": blocks[nth % 2]}
            yield from (_of(tag, "cleaned", DIP, bath=bath) for tag in (*self.clippers, *self.spares))
            if nth < SPARES:
                yield from self.swap(nth)
            yield {"crew": self.crew, "verb": "stopped", "detail": {"cause": "break"}}
        yield {"bath": bath, "verb": "tested", "detail": {"ppm": 5000}}
        yield from (_of(tag, "cleaned", {"method": "wash"}) for tag in self.bags[:3])
        yield from (_of(self.bags[0], verb) for verb in ("missed", "found"))
        yield {"bath": bath, "verb": "emptied", "detail": {"where": "septic tank"}}
        yield from (_of(tag, "returned") for _, tag in self.carried())

    def carried(self) -> list[tuple[str, str]]:
        return [*zip(self.badges, self.clippers, strict=True), *zip(self.badges, self.bags, strict=True)]

    def swap(self, nth: int) -> Iterator[Told]:
        """What is wrong, which spare, and the broken one into the box, where it is mended."""
        who, broken, spare, act = (
            self.badges[nth],
            self.clippers[nth],
            self.spares[nth],
            str(new_id()),
        )
        yield _of(broken, "fault_found", FAULT, act=act)
        yield _of(spare, "handed_out", {"from": self.crew}, act=act, picker=who)
        yield _of(broken, "handed_out", {"from": who}, act=act, crew=self.crew)
        yield _of(broken, "mended", MEND)
        self.clippers[nth], self.spares[nth] = spare, broken


def _of(tag: str, verb: str, detail: Told | None = None, **references: str) -> Told:
    return {"item": tag, "verb": verb, "detail": detail or {}, **references}


@dataclass
class Phone:
    """Whose it is, and all that it has to tell, in order: a day and more, ended an hour ago."""

    user: User
    device: Device
    entries: list[Told]

    def batch(self, number: int) -> dict[str, Any]:
        entries = self.entries[number * BATCH : (number + 1) * BATCH]
        sent = {"device": str(self.device.pk), "store": "A", "gate": "note"}
        return {**sent, "sent_at": timezone.now().isoformat(), "entries": entries}


def found_orchard(farm: Farm) -> list[Phone]:
    """The crews with their gear out since yesterday, and their phones with all of it to tell."""
    gangs = [_gang(farm, number) for number in range(CREWS)]
    shares = [gangs[start : start + CREWS_OF_A_PHONE] for start in range(0, CREWS, CREWS_OF_A_PHONE)]
    return [_phone(farm, number, share) for number, share in enumerate(shares)]


def _gang(farm: Farm, number: int) -> Gang:
    earlier, own = timezone.now() - timedelta(days=3), number + 100
    crew = Crew.objects.create(code=codes.make(codes.CREW, own), name=f"Crew {own}", store=farm.stores["A"])
    people = Picker.objects.bulk_create(
        Picker(number=f"o{own}-{n}", name=f"{own} {n}") for n in range(PICKERS)
    )
    badges = [card.pk for card in lend_new(people, earlier.date())]
    join(farm.pen(), people, crew, at=earlier)
    counts = {"bag": PICKERS, "clippers": PICKERS + SPARES, "ladder": LADDERS}
    gear = {kind: farm.gear(kind, count, days_ago=3) for kind, count in counts.items()}
    clippers = gear["clippers"]
    gang = Gang(crew.pk, badges, gear["bag"], clippers[:PICKERS], clippers[PICKERS:], gear["ladder"])
    _hand_out(farm, gang, dict(zip(badges, people, strict=True)))
    return gang


def _hand_out(farm: Farm, gang: Gang, people: dict[str, Picker]) -> None:
    at = timezone.now() - timedelta(hours=30)
    held = {tag: people[who].pk for who, tag in gang.carried()} | dict.fromkeys((*gang.spares, *gang.ladders))
    pen = farm.pen()
    items = ItemState.objects.filter(tag__in=held).values_list("tag", "item")
    fields = {"crew": gang.crew, "happened_at": at}
    pen.record(
        [pen.draft("handed_out", item=item, picker=held[tag], **fields) for tag, item in items], "note"
    )


def _phone(farm: Farm, number: int, gangs: Sequence[Gang]) -> Phone:
    user = User.objects.create(username=f"supervisor {number}")
    user.groups.add(Group.objects.get(name="supervisor"))
    Crew.objects.filter(pk__in=[gang.crew for gang in gangs]).update(supervisor=user)
    device = Device.objects.create(kind=Device.Kind.PHONE, name=f"phone {number}", store=farm.stores["A"])
    told = chain.from_iterable(zip(*(gang.days() for gang in gangs), strict=True))
    begun, step = timezone.now() - timedelta(hours=21), timedelta(hours=20) / (BATCH * BATCHES)
    told = islice(told, BATCH * BATCHES)
    return Phone(user, device, [_sent(each, n, begun + step * n) for n, each in enumerate(told)])


def _sent(told: Told, number: int, at: datetime) -> Told:
    return {"id": str(new_id()), "device_seq": number, "happened_at": at.isoformat(), "detail": {}, **told}
