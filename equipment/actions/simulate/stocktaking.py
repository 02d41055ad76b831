"""The last evening's stocktake: the storeman and the mender count ladders and water, and all kinds of surprise come up.

It has a Random of its own, so that the season before it is the same with and without it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from random import Random
from typing import Any
from uuid import UUID

from django.utils import timezone

from crews.models import Store, User
from equipment.actions.simulate.farm import Farm
from equipment.actions.stocktake import settle, unknown
from equipment.actions.stocktake.begin import StockPen, begin, end
from equipment.actions.stocktake.correct import Said
from equipment.actions.stocktake.scan import Scan, take
from equipment.actions.stocktake.unknown import Told
from equipment.domain.stocktake import NOT_OURS, STAYS_GONE
from equipment.ledger import Draft, writing
from equipment.models import Entry, ItemState, Stocktake, stocktaking

KINDS = ("ladder", "water_container")
BEGINS = time(19, 5)
AT_ONCE = 10
FOREIGN = "HIRED 0417"
# Ladders and water are what a farm lends and borrows; what changes nothing else is chosen for what is not theirs.
CHOICES = {"left": "missed", "out": "label_twin", "other_store": "sent_back", "missing": "stays_missing"}


@dataclass
class SeededPen(StockPen):
    """A pen whose ids come from the seed."""

    ids: Iterator[UUID] = field(default_factory=lambda: iter(()))

    def draft(self, verb: str, **fields: Any) -> Draft:
        return super().draft(verb, **{"id": next(self.ids), **fields})


def stocktake(farm: Farm, last: date, seed: int) -> int:
    """Count one store on the evening of `last`; how many lines that wrote."""
    at = timezone.make_aware(datetime.combine(last, BEGINS))
    ids = _ids(Random(f"stocktake {seed}"), at)  # noqa: S311 nothing secret
    store = Store.objects.get(pk=farm.stores[0])
    people = (farm.writers[store.pk], farm.mender)
    with writing():
        own = begin(store, KINDS, people[0], at, next(ids))
        at = _scan(own, people, ids, at)
        pen = SeededPen(people[0], store.pk, at, stocktake=own.pk, ids=ids)
        _settle(own, pen)
        end(own, people[0], pen.at + timedelta(minutes=1))
    return Entry.objects.filter(act=own.pk).count()


def _ids(random: Random, at: datetime) -> Iterator[UUID]:
    """UUIDv7 (RFC 9562, 5.7) of that evening."""
    stamp = int(at.timestamp() * 1000)
    while True:
        stamp += 1
        low = 7 << 76 | random.getrandbits(12) << 64 | 2 << 62 | random.getrandbits(62)
        yield UUID(int=stamp << 80 | low)


def _scan(own: Stocktake, people: Sequence[User], ids: Iterator[UUID], at: datetime) -> datetime:
    """All but one of what is expected, and one of each surprise; by turns, some pieces at a time."""
    found = stocktaking.count(own).having("left")
    texts = [line.tag for line in found if line is not _overlooked(found)]
    texts += [*_surprises(own), FOREIGN]
    for number, first in enumerate(range(0, len(texts), AT_ONCE)):
        scans = []
        for text in texts[first : first + AT_ONCE]:
            at += timedelta(seconds=6)
            scans.append(Scan(next(ids), text, at))
        at += timedelta(seconds=2)
        take(own, scans, people[number % len(people)], at)
    return at + timedelta(minutes=4)


def _overlooked(found: Sequence[stocktaking.Line]) -> stocktaking.Line | None:
    water = [line for line in found if line.kind == KINDS[-1]]
    return (water or list(found) or [None])[-1]


def _surprises(own: Stocktake) -> list[str]:
    """A piece that is out, one of another store, one that is written off; as far as there are any."""
    every = ItemState.objects.order_by("tag")
    lying = every.filter(place="store").exclude(store=own.store)
    some = (every.filter(place="picker"), lying.filter(item__kind__in=KINDS), every.filter(place="gone"))
    tags = [rows.values_list("tag", flat=True).first() for rows in some]
    return [tag for tag in tags if tag]


def _settle(own: Stocktake, pen: SeededPen) -> None:
    """Each by one choice, a minute apart."""
    for line in stocktaking.count(own).lines.values():
        if line.standing in ("left", "out", "other_store", "missing", "gone"):
            pen.at += timedelta(minutes=1)
            settle.settle(own, pen, line.item, CHOICES.get(line.standing, STAYS_GONE.name), Said())
    for row in own.unknown.all():
        pen.at += timedelta(minutes=1)
        unknown.settle(own, pen, row.pk, NOT_OURS.name, Told())
