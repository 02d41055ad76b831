"""One store's evening: its need against its pieces, and the jobs that cover it for the fewest minutes."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from crews.models import Store
from equipment.domain.jobs import Gear, Plan, serves
from equipment.domain.plan import cover
from equipment.models.gear import Kind
from equipment.models.planning.claims import Claims
from equipment.models.planning.need import Asked, CrewNeed
from equipment.models.planning.results import Evening, Sort, StoreEvening, Task, total
from equipment.models.planning.supply import Piece
from equipment.models.planning.ways import Ways


def planned(
    store: Store, needs: Sequence[CrewNeed], pieces: Sequence[Piece], ways: Ways, kinds: Mapping[str, Kind]
) -> StoreEvening:
    claims = Claims(needs, kinds)
    free = claims.free(pieces)
    asked = [each for need in needs for each in need.asked]
    left = _counted(asked) - claims.kept
    fit = Counter(piece.gear for piece in free if not piece.steps)
    to_do = [piece for piece in free if piece.steps]
    jobs = ways.jobs(to_do)
    plan = cover(left, fit, jobs)
    undecided = Counter(piece.gear for piece in to_do) - Counter(
        {job.item: job.gear for job in jobs}.values()
    )
    found = _Sorts(asked, claims.kept, fit, cover(left, fit, []), plan, undecided)
    order = {kind: place for place, kind in enumerate(kinds)}
    sorts = sorted(found.all(), key=lambda sort: (order[sort.gear.kind], sort.gear))
    return StoreEvening(store, needs, sorts, _tasks(plan, to_do, sorts, order), plan, ways, left, fit)


def lendable(evening: Evening, store: str, sort: Sort) -> dict[str, int]:
    """How many pieces each other store could lend of what stays short in `store`, and still cover its own need with
    what is fit there as things stand; only those that could lend any."""
    found = {}
    for other in evening.stores:
        if other.store.pk != store and total(other.free, sort.gear):
            own = sum(cover(other.left, other.free, []).short.values())
            both = Counter(other.left) + Counter({sort.gear: sort.stays_short})
            spare = sort.stays_short - (sum(cover(both, other.free, []).short.values()) - own)
            if spare > 0:
                found[other.store.pk] = spare
    return found


def _counted(asked: Iterable[Asked]) -> Counter[Gear]:
    found: Counter[Gear] = Counter()
    for each in asked:
        found[each.gear] += each.count
    return found


@dataclass(frozen=True)
class _Sorts:
    """What the sorts of gear of one store are told from."""

    asked: Sequence[Asked]
    kept: Mapping[Gear, int]
    fit: Mapping[Gear, int]
    before: Plan
    plan: Plan
    undecided: Mapping[Gear, int]

    def all(self) -> list[Sort]:
        return [self._sort(gear) for gear in dict.fromkeys(each.gear for each in self.asked)]

    def _sort(self, gear: Gear) -> Sort:
        own = [each for each in self.asked if each.gear == gear]
        required = sum(each.count for each in own if each.required)
        return Sort(
            gear,
            required,
            sum(each.count for each in own) - required,
            self.kept.get(gear, 0) + total(self.fit, gear),
            self.before.short.get(gear, 0),
            self.plan.short.get(gear, 0),
            total(self.undecided, gear),
            next((each.per for each in own if each.per), None),
            any(each.holder == "picker" and each.required for each in own),
        )


def _tasks(
    plan: Plan, pieces: Iterable[Piece], sorts: Sequence[Sort], order: Mapping[str, int]
) -> list[Task]:
    """What somebody could not pick without comes first, then kind by kind, the quickest first."""
    by_tag = {piece.tag: piece for piece in pieces}
    wanted = [sort.gear for sort in sorts if sort.lacking_now]
    tasks = [
        Task(by_tag[job.item], job, any(serves(job.gear, gear) for gear in wanted)) for job in plan.chosen
    ]
    return sorted(
        tasks,
        key=lambda task: (not task.required, order[task.job.gear.kind], task.job.minutes, task.piece.tag),
    )
