"""Today by crew: who is served, whose kit is complete, what is out, and what should have come back long ago."""

from collections import Counter, defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date

from crews.models import Crew, DayPlan
from equipment.domain import kit
from equipment.models.kits import asked, bounds, plans_by_crew
from equipment.models.projections import folded_crew
from equipment.models.states import ItemState, Membership


@dataclass(frozen=True, slots=True)
class CrewLine:
    """One crew's morning. `served` pickers hold something handed out today; `overdue` items came out on an earlier
    day and should have been back by night, the longest out first."""

    crew: Crew
    plans: Sequence[DayPlan]
    pickers: int
    served: int
    complete: int
    out: int
    overdue: Sequence[ItemState]


def board(day: date, crews: Collection[str] | None = None) -> list[CrewLine]:
    """One line for each active crew (or those of `crews`), in five queries whatever the number of pickers."""
    rows = Crew.objects.filter(active=True).select_related("store", "supervisor", "state")
    if crews is not None:
        rows = rows.filter(pk__in=crews)
    crew_rows = list(rows)
    codes = [crew.pk for crew in crew_rows]
    plans = plans_by_crew(day, codes)
    members = defaultdict(set)
    for picker, crew in Membership.objects.filter(crew__in=codes).current().values_list("picker", "crew"):
        members[crew].add(picker)
    out = defaultdict(list)
    held = ItemState.objects.out().filter(crew__in=codes).select_related("item__kind", "picker")
    for state in held.defer("fold").order_by("since"):
        out[state.crew_id].append(state)
    return [_line(crew, plans.get(crew.pk, []), members[crew.pk], out[crew.pk], day) for crew in crew_rows]


def _line(
    crew: Crew, plans: Sequence[DayPlan], members: set[int], out: Sequence[ItemState], day: date
) -> CrewLine:
    start, end = bounds(day)
    lines = asked(plans, present=len(members))
    waived = defaultdict(set)
    if hasattr(crew, "state"):
        for picker, kind, at in folded_crew(crew.state).state.waived:
            if start <= at < end:
                waived[picker].add(kind)
    kinds: dict[int, Counter[str]] = defaultdict(Counter)
    served = set()
    for state in out:
        if state.place == "picker" and state.picker_id is not None:
            kinds[state.picker_id][state.item.kind_id] += 1
            if state.since and state.since >= start:
                served.add(state.picker_id)
    whole = [picker for picker in served if kit.complete(lines, kinds[picker], waived[picker])]
    overdue = [s for s in out if s.item.kind.comes_back == "tonight" and s.since and s.since < start]
    return CrewLine(crew, plans, len(members), len(served), len(whole), len(out), overdue)
