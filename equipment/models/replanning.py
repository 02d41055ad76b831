"""Day plans as they stand: as the office made them, with what the crews' own `replanned` lines changed since."""

from collections.abc import Iterable, Mapping, Sequence
from copy import copy
from datetime import date, datetime

from django.db.models import Max
from pydantic import TypeAdapter

from crews.models import Block, DayPlan, DayPlanChange
from equipment.domain.values import Replan
from equipment.models.states import CrewState

REPLANS: TypeAdapter[tuple[Replan, ...]] = TypeAdapter(tuple[Replan, ...])
DAY, AFTERNOON = DayPlan.Part.DAY, DayPlan.Part.AFTERNOON
OTHER_HALF = {DayPlan.Part.MORNING: AFTERNOON, AFTERNOON: DayPlan.Part.MORNING}


def standing(
    plans: Iterable[DayPlan], days: tuple[date, date], crews: Iterable[str] | None = None
) -> list[DayPlan]:
    """`plans` (all of `crews`, None for all, from the first of `days` to the last; cancelled ones too) as they stand,
    by day and in the order of the day. What the office changed after a crew's own line stands.

    A half of a whole day that is replanned by itself makes two of it. A plan where the office made none has no key.
    One query, three where something was replanned.
    """
    rows = list(plans)
    changed = _replanned(days, crews)
    if changed:
        latest = _latest_changes(rows)
        blocks = _blocks(changed)
        for crew, replan in changed:
            rows = _apply(rows, crew, replan, latest, blocks)
    return sorted(rows, key=lambda plan: (plan.date, plan.part == AFTERNOON, plan.pk or 0))


def replanned(crew: str, day: date) -> list[Replan]:
    """The crew's own changes of its plan of `day`, in order; not those that were taken back."""
    return [replan for _, replan in _replanned((day, day), [crew])]


def _replanned(days: tuple[date, date], crews: Iterable[str] | None) -> list[tuple[str, Replan]]:
    found = CrewState.objects.filter(fold__state__replanned__0__isnull=False).order_by("crew")
    if crews is not None:
        found = found.filter(crew__in=list(crews))
    return [
        (crew, replan)
        for crew, told in found.values_list("crew", "fold__state__replanned")
        for replan in REPLANS.validate_python(told)
        if days[0] <= replan.date <= days[1]
    ]


def _latest_changes(plans: Iterable[DayPlan]) -> Mapping[int, datetime]:
    """When the office last changed each of these plans."""
    changes = DayPlanChange.objects.filter(plan__in=[plan.pk for plan in plans]).order_by()
    return dict(changes.values_list("plan").annotate(Max("at")))


def _blocks(changed: Iterable[tuple[str, Replan]]) -> Mapping[str, Block]:
    named = {replan.block for _, replan in changed if replan.block}
    return Block.objects.in_bulk(named) if named else {}


def _apply(
    plans: Sequence[DayPlan],
    crew: str,
    replan: Replan,
    latest: Mapping[int, datetime],
    blocks: Mapping[str, Block],
) -> list[DayPlan]:
    """The plans with one change on them."""
    block = blocks.get(replan.block or "")
    shown: list[DayPlan] = []
    met = False
    for plan in plans:
        if (plan.crew_id, plan.date) != (crew, replan.date) or not _covers(replan.part, plan.part):
            shown.append(plan)
            continue
        met = True
        if plan.pk in latest and latest[plan.pk] > replan.at:
            shown.append(plan)
        else:
            shown += _changed(plan, replan, block)
    if not met and block is not None:
        made = DayPlan(date=replan.date, part=replan.part, crew_id=crew, block=block, clipped=replan.clipped)
        shown.append(_marked(made))
    return shown


def _covers(asked: str, part: str) -> bool:
    return DAY in (asked, part) or asked == part


def _changed(plan: DayPlan, replan: Replan, block: Block | None) -> list[DayPlan]:
    changed = _marked(copy(plan))
    changed.clipped = replan.clipped
    if block is not None:
        changed.block = block
    if plan.part != DAY or replan.part == DAY:
        return [changed]
    rest = copy(plan)
    changed.part, rest.part = replan.part, OTHER_HALF[DayPlan.Part(replan.part)]
    return [rest, changed]


def _marked(plan: DayPlan) -> DayPlan:
    plan.state = DayPlan.State.CHANGED
    return plan
