"""A morning told backwards from now: clippers dipped, handed out, their crew in its block, four hours in use."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from uuid import UUID

from django.utils import timezone

from crews.models import Badge, Picker
from equipment.actions.change_crew import join
from equipment.actions.lend_badge import lend_new
from equipment.actions.writing import Pen
from equipment.models import ItemState
from tests.cast import Farm

WAY = {"method": "sterilise", "recipe": "clippers_alcohol", "seconds": 60}


def ago(**span: float) -> datetime:
    return timezone.now() - timedelta(**span)


def clippers(farm: Farm, count: int = 1, kind: str = "clippers") -> list[str]:
    """Tags of new ones, in store A since yesterday."""
    return sorted(farm.gear(kind, count, days_ago=1))


def item_of(tag: str) -> UUID:
    return ItemState.objects.get(tag=tag).item_id


def dipped(farm: Farm, tags: Sequence[str], at: datetime) -> None:
    pen = Pen(farm.users["rosa"], "A", timezone.now())
    states = ItemState.objects.filter(tag__in=tags)
    pen.record(
        [pen.draft("cleaned", item=s.item_id, crew=s.crew_id, happened_at=at, detail=WAY) for s in states]
    )


def handed(farm: Farm, tags: Sequence[str], at: datetime, who: str | None = "ana", crew: str = "red") -> None:
    """To this picker, or to the crew as such."""
    pen = Pen(farm.users["rosa"], "A", timezone.now())
    picker = farm.pickers[who].pk if who else None
    fields = {"crew": farm.crews[crew].pk, "picker": picker, "happened_at": at}
    drafts = [pen.draft("handed_out", item=item_of(tag), **fields) for tag in tags]
    assert all(outcome.recorded for outcome in pen.record(drafts, "note").outcomes)


def told(farm: Farm, verb: str, at: datetime, crew: str = "red", **detail: str) -> UUID:
    """Of a crew: arrived, left, stopped. The entry."""
    pen = Pen(farm.users["rosa"], "A", timezone.now())
    draft = pen.draft(
        verb, crew=farm.crews[crew].pk, block=detail.get("block"), happened_at=at, detail=detail
    )
    assert pen.record([draft]).outcomes[0].recorded
    return draft.id


def hours_up(farm: Farm, count: int = 3, late: timedelta = timedelta(minutes=35)) -> list[str]:
    """Clippers of the red crew in N4 whose four hours were up `late` ago."""
    tags = clippers(farm, count)
    dipped(farm, tags, timezone.now() - timedelta(hours=6) - late)
    handed(farm, tags, timezone.now() - timedelta(hours=5) - late)
    told(farm, "arrived", timezone.now() - timedelta(hours=4) - late, block="N4")
    return tags


def pickers(farm: Farm, count: int, crew: str = "red") -> list[Picker]:
    """So many more in the crew, each with a card."""
    earlier = ago(days=30)
    made = Picker.objects.bulk_create(Picker(number=f"9{n:03}", name=f"Picker {n}") for n in range(count))
    cards: list[Badge] = lend_new(made, earlier.date())
    join(farm.pen(), made, farm.crews[crew], at=earlier)
    assert len(cards) == count
    return made
