"""What there is of counted goods: by store, lot by lot, and what runs low, or is past its date or soon will be."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.db.models import Count, F, Min, Q, Sum
from django.db.models.functions import Coalesce

from crews.models import Store
from equipment.models.goods import Goods
from equipment.models.states import LotState

SOON = timedelta(days=30)


@dataclass(frozen=True, slots=True)
class Held:
    """Goods in a store on `day`: its lots with something left, the first to expire first. In the unit of the goods."""

    goods: Goods
    lots: Sequence[LotState]
    day: date

    @property
    def fresh(self) -> float:
        """What is not past its date."""
        return round(sum(lot.left for lot in self.lots if not lot.past_date(self.day)), 6)

    @property
    def low(self) -> bool:
        return self.goods.low is not None and self.fresh < self.goods.low

    @property
    def expired(self) -> Sequence[LotState]:
        return [lot for lot in self.lots if lot.past_date(self.day)]


def shelf(store: str, day: date) -> list[Held]:
    """Goods that this store has or has had; two queries."""
    lots: dict[str | None, list[LotState]] = defaultdict(list)
    for lot in LotState.objects.there().filter(store=store).first_to_expire():
        lots[lot.goods_id].append(lot)
    goods = Goods.objects.filter(pk__in=LotState.objects.filter(store=store).values("goods"))
    return [Held(each, lots[each.pk], day) for each in goods]


def soon(lot: LotState, day: date) -> bool:
    """Whether it passes its date within the next weeks."""
    return lot.expires_on is not None and day <= lot.expires_on <= day + SOON


def to_take(store: str | None, day: date, **which: Any) -> list[LotState]:
    """Lots that something may be taken of, the first to expire first; `which` narrows by goods. One query."""
    rows = LotState.objects.there().fresh(day).filter(store=store, **which)
    return list(rows.select_related("goods").first_to_expire())


@dataclass(frozen=True, slots=True)
class Wanting:
    """Goods that a store has too little of (`fresh` is what it has), of which `expired` lots lie there, or of which a
    lot passes its date `soon`: the first such day, None for none."""

    store: Store
    goods: Goods
    fresh: float
    expired: int
    soon: date | None

    @property
    def low(self) -> bool:
        return self.goods.low is not None and self.fresh < self.goods.low


def wanting(day: date) -> list[Wanting]:
    """By store, in the order of the goods; one query."""
    old = Q(expires_on__lt=day)
    soon = Q(expires_on__gte=day, expires_on__lte=day + SOON)
    rows = LotState.objects.filter(goods__isnull=False).values(
        "store", "store__name", "goods", "goods__name", "goods__unit", "goods__low"
    )
    rows = rows.annotate(
        fresh=Coalesce(Sum("left", filter=~old | Q(expires_on=None)), 0.0),
        expired=Count("pk", filter=old & Q(left__gt=0)),
        soon=Min("expires_on", filter=soon & Q(left__gt=0)),
    )
    lacking = Q(fresh__lt=F("goods__low")) | Q(expired__gt=0) | Q(soon__isnull=False)
    rows = rows.filter(lacking).order_by("store", "goods__position", "goods")
    return [_wanting(row) for row in rows]


def _wanting(row: dict[str, Any]) -> Wanting:
    goods = Goods(code=row["goods"], name=row["goods__name"], unit=row["goods__unit"], low=row["goods__low"])
    store = Store(code=row["store"], name=row["store__name"])
    return Wanting(store, goods, round(row["fresh"], 6), row["expired"], row["soon"])
