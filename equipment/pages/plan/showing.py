"""What the pages of the evening plan show of it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from equipment.models import Kind
from equipment.models.planning import CrewNeed, Evening, Sort, StoreEvening, lendable
from equipment.pages.board import plan_words
from equipment.pages.plan import crew as of_crew
from equipment.pages.plan import saying
from equipment.pages.plan.tonight import Work, work


@dataclass(frozen=True)
class SortTold:
    """`tonight`: so many are made fit. `follows` are sentences, where it stays short."""

    sort: Sort
    icon: str
    name: str
    tonight: int
    follows: Sequence[str] = ()


@dataclass(frozen=True)
class StoreTold:
    store: StoreEvening
    sorts: Sequence[SortTold]
    work: Work
    minutes: str

    @property
    def short(self) -> list[SortTold]:
        """What stays short, what holds somebody back first."""
        found = [told for told in self.sorts if told.sort.stays_short]
        return sorted(found, key=lambda told: not told.sort.lacking)


def told(evening: Evening) -> list[StoreTold]:
    """The stores that crews draw from on that day."""
    return [_store(each, evening) for each in evening.stores if each.needs]


def _store(store: StoreEvening, evening: Evening) -> StoreTold:
    sorts = [_sort(sort, store, evening) for sort in store.sorts]
    return StoreTold(store, sorts, work(store, evening.kinds), saying.minutes(store.plan.minutes))


def _sort(sort: Sort, store: StoreEvening, evening: Evening) -> SortTold:
    return SortTold(
        sort,
        evening.kinds[sort.gear.kind].icon,
        saying.gear(sort.gear, evening.kinds),
        sort.short - sort.stays_short,
        follows(sort, store, evening) if sort.stays_short and not evening.over else (),
    )


def follows(sort: Sort, store: StoreEvening, evening: Evening) -> list[str]:
    names = {each.store.pk: each.store.name for each in evening.stores}
    lends = lendable(evening, store.store.pk, sort)
    return saying.follows(sort, [(names[code], count) for code, count in lends.items()])


@dataclass(frozen=True)
class CrewTold:
    need: CrewNeed
    plans: str
    takes: str


def crews(evening: Evening) -> list[CrewTold]:
    """What each crew takes out, in a line."""
    return [
        CrewTold(need, "; ".join(map(plan_words, need.plans)), _takes(need, evening.kinds))
        for need in evening.needs
    ]


def _takes(need: CrewNeed, kinds: Mapping[str, Kind]) -> str:
    counted: dict[str, int] = {}
    for each in need.asked:
        name = saying.gear(each.gear, kinds)
        counted[name] = counted.get(name, 0) + each.count
    return " · ".join(f"{name}: {count}" for name, count in counted.items())


def crew(need: CrewNeed, evening: Evening) -> dict[str, Any]:
    kinds = evening.kinds
    return {
        "plans": "; ".join(map(plan_words, need.plans)),
        "handed": of_crew.handed(need, "picker", kinds),
        "shared": of_crew.handed(need, "crew", kinds),
        "spares": of_crew.handed(need, "spare", kinds),
        "unknown": of_crew.unknown_sizes(need, kinds),
        "dips": of_crew.dips_due(need, evening.day, evening.ready_at, kinds),
        "sets": of_crew.sets_to_pack(need, evening) if not evening.over else [],
        "over": evening.over,
    }
