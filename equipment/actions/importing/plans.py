"""Day plans, known by date, part of day and crew."""

from collections.abc import Iterable
from typing import Annotated, Any, Literal

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews.models import Block, Crew, DayPlan, DayPlanChange
from equipment.actions.importing.cells import Day, Line, PlaceCode, Words80, YesNo, lowered
from equipment.actions.importing.kinds import ByName, Given, ListKind, differences, save
from equipment.actions.importing.results import Findings, bad


class PlanLine(Line):
    date: Day
    part: Annotated[Literal["day", "morning", "afternoon"], lowered] = "day"
    crew: Words80
    block: PlaceCode
    clipped: YesNo = True


def compare(given: Given) -> Findings:
    crews = ByName(Crew.objects.all(), lambda crew: [crew.pk, crew.name])
    blocks = Block.objects.in_bulk()
    known = {(plan.date, plan.part, plan.crew_id): plan for plan in _plans(given)}
    findings = Findings()
    new: list[DayPlan] = []
    changed: list[DayPlan] = []
    for line, row in given.lines:
        crew, block = crews.find(row.crew), blocks.get(row.block)
        if crew is None:
            findings.bad.append(
                bad(line, "crew", row.crew, _("There is no such crew. Import the crews first."))
            )
        if block is None:
            findings.bad.append(
                bad(line, "block", row.block, _("There is no such block. Import the blocks first."))
            )
        if crew is None or block is None:
            continue
        wanted: dict[str, Any] = {"block": block}
        if "clipped" in given.columns:
            wanted["clipped"] = row.clipped
        what = f"{row.date} {crew.name} {block.pk}"
        if (plan := known.get((row.date, row.part, crew.pk))) is None:
            plan = known[row.date, row.part, crew.pk] = DayPlan(
                date=row.date, part=row.part, crew=crew, **wanted
            )
            new.append(plan)
            findings.added.append(what)
        elif plan.pk is None:
            findings.bad.append(
                bad(line, "crew", row.crew, _("This crew has a plan for this part of the day above."))
            )
        elif findings.note(line, what, differences(plan, wanted)):
            save(plan, {**wanted, "state": DayPlan.State.CHANGED})
            changed.append(plan)
    findings.warnings += _overlaps(known.values())

    def write() -> None:
        DayPlan.objects.bulk_create(new)
        DayPlan.objects.bulk_update(changed, ["block", "clipped", "state"])
        why = _("By an imported list.")
        DayPlanChange.objects.bulk_create(
            DayPlanChange(plan=plan, at=given.at, by=given.by, state=plan.state, why=why) for plan in changed
        )

    findings.write = write
    return findings


def _plans(given: Given) -> Iterable[DayPlan]:
    days = [row.date for _line, row in given.lines]
    if not days:
        return ()
    return DayPlan.objects.filter(date__range=(min(days), max(days))).select_related("block", "crew")


def _overlaps(plans: Iterable[DayPlan]) -> list[str]:
    """Crews that are to be in one block all day and in another for half of it."""
    parts: dict[tuple[Any, Crew], set[str]] = {}
    for plan in plans:
        if plan.state != DayPlan.State.CANCELLED:
            parts.setdefault((plan.date, plan.crew), set()).add(plan.part)
    said = _("%(crew)s has a plan for the whole of %(day)s and one for a part of it.")
    return [
        said % {"crew": crew.name, "day": day}
        for (day, crew), found in parts.items()
        if DayPlan.Part.DAY in found and len(found) > 1
    ]


KIND = ListKind(
    name="plans",
    words=gettext_lazy("Day plans"),
    about=gettext_lazy(
        "One row for each crew and part of day. Dates year first, such as 2026-03-25; a day first is read where it can "
        "be nothing else (25/03/2026). Part is day, morning or afternoon; clipped is yes, or no where fruit is snapped."
    ),
    line=PlanLine,
    key=("date", "part", "crew"),
    compare=compare,
    sample={"date": "2026-03-25", "part": "day", "crew": "Hoopoe", "block": "N4", "clipped": "yes"},
)
