"""Day plans: changed, stopped or cancelled as the weather has it, each time with a why; and copied to another day."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction

from crews.models import Block, Crew, DayPlan, DayPlanChange, User
from equipment.models.replanning import standing


@dataclass(frozen=True, slots=True)
class Change:
    """What happens to a plan and why. `block` and `clipped` count only where `state` is changed."""

    state: str
    why: str
    block: Block
    clipped: bool


@transaction.atomic
def change_plan(plan: DayPlan, change: Change, by: User, at: datetime) -> None:
    """Write the change down with its why. Raises ValueError where there is no why."""
    if not change.why.strip():
        raise ValueError("A plan is changed, stopped or cancelled for a reason: say why.")
    plan.state = change.state
    if change.state == DayPlan.State.CHANGED:
        plan.block, plan.clipped = change.block, change.clipped
    plan.save()
    DayPlanChange.objects.create(plan=plan, at=at, by=by, state=change.state, why=change.why.strip())


def overlapping(crew: Crew, day: date, part: str, but: int | None = None) -> DayPlan | None:
    """A plan of the crew for any of the same hours that was not cancelled; `but` is left out of the search."""
    plans = DayPlan.objects.filter(crew=crew, date=day).exclude(pk=but).exclude(state=DayPlan.State.CANCELLED)
    if part != DayPlan.Part.DAY:
        plans = plans.filter(part__in=(part, DayPlan.Part.DAY))
    return plans.select_related("block").first()


@transaction.atomic
def copy_day(source: date, target: date) -> tuple[int, Sequence[Crew]]:
    """Plan for `target` what is planned for `source`: how many plans were made, and the crews left alone because
    they have a plan for that day already. What was cancelled is not copied, what was stopped is begun anew."""
    made = DayPlan.objects.filter(date=source, crew__active=True).select_related("block")
    working = Crew.objects.filter(active=True).values_list("pk", flat=True)
    plans = [p for p in standing(made, (source, source), working) if p.state != DayPlan.State.CANCELLED]
    busy = set(DayPlan.objects.filter(date=target).values_list("crew", flat=True))
    wanted = [plan for plan in plans if plan.crew_id not in busy]
    DayPlan.objects.bulk_create(
        DayPlan(date=target, part=p.part, crew_id=p.crew_id, block_id=p.block_id, clipped=p.clipped)
        for p in wanted
    )
    left_alone = Crew.objects.filter(pk__in=busy & {plan.crew_id for plan in plans})
    return len(wanted), list(left_alone)
