"""What an evening's plan says: sorts of gear with what is asked, fit and short; the tasks; what follows."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property

from crews.models import Store
from equipment.domain.jobs import Gear, Job, Plan, serves
from equipment.models.gear import Kind
from equipment.models.planning.need import CrewNeed
from equipment.models.planning.supply import Piece
from equipment.models.planning.ways import Ways


@dataclass(frozen=True)
class Task:
    """What is chosen for one piece. `required`: without it somebody could not pick."""

    piece: Piece
    job: Job
    required: bool


@dataclass(frozen=True)
class Sort:
    """One sort of gear as a store is asked for it. `fit`: so many would do as things stand; `short` before the work of
    the evening, `stays_short` after it; `undecided`: pieces that no usual mend and no known cleaning makes fit. `per`:
    one serves so many people."""

    gear: Gear
    required: int
    advised: int
    fit: int
    short: int
    stays_short: int
    undecided: int = 0
    per: int | None = None
    by_picker: bool = False

    @property
    def asked(self) -> int:
        return self.required + self.advised

    @property
    def lacking(self) -> int:
        """Of what is required, after the evening's work: what is only advised yields first."""
        return max(0, self.stays_short - self.advised)

    @property
    def lacking_now(self) -> int:
        return max(0, self.short - self.advised)


@dataclass(frozen=True)
class StoreEvening:
    """`tasks` in the order of doing: what is required first, then the quickest. `left` is asked for beyond what stays
    with its holders, `free` is fit and serves anybody."""

    store: Store
    needs: Sequence[CrewNeed]
    sorts: Sequence[Sort]
    tasks: Sequence[Task]
    plan: Plan
    ways: Ways
    left: Mapping[Gear, int]
    free: Mapping[Gear, int]

    @property
    def fewer_pickers(self) -> int:
        """At least so many pickers cannot begin, because of one kind or another that each must have."""
        lacking: dict[str, int] = {}
        for sort in self.sorts:
            if sort.by_picker:
                lacking[sort.gear.kind] = lacking.get(sort.gear.kind, 0) + sort.lacking
        return max(lacking.values(), default=0)

    @property
    def short(self) -> list[Sort]:
        return [sort for sort in self.sorts if sort.stays_short]


@dataclass(frozen=True)
class Evening:
    """`ready_at` is when the gear must be fit (UTC). `over`: the day is past, so that only the need is told."""

    day: date
    at: datetime
    ready_at: datetime
    over: bool
    kinds: Mapping[str, Kind]
    stores: Sequence[StoreEvening]

    @property
    def needs(self) -> list[CrewNeed]:
        return [need for store in self.stores for need in store.needs]

    @cached_property
    def tasks(self) -> dict[str, Task]:
        """By tag, each store's in its order."""
        return {task.piece.tag: task for store in self.stores for task in store.tasks}

    def need_of(self, crew: str) -> CrewNeed | None:
        return next((need for need in self.needs if need.crew.pk == crew), None)


def total(counts: Mapping[Gear, int], asked: Gear) -> int:
    """How many of these do for what is asked."""
    return sum(count for gear, count in counts.items() if serves(gear, asked))
