"""Today by crew: who is served, whose kit is complete, what is out, and what should have come back long ago."""

from collections import Counter, defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from crews.models import Crew, DayPlan
from equipment.domain import kit
from equipment.models.book import Entry
from equipment.models.kits import asked, bounds, plans_by_crew
from equipment.models.projections import folded_crew
from equipment.models.states import ItemState, Membership


@dataclass(frozen=True, slots=True)
class CrewLine:
    """One crew's day. `served` pickers were handed something today, whether or not it is back; `complete` of them
    hold a whole kit now; `overdue` items came out on an earlier day and should have been back by night, the longest
    out first. What was stowed in the orchard, locked or counted, is not overdue."""

    crew: Crew
    plans: Sequence[DayPlan]
    pickers: int
    served: int
    complete: int
    out: int
    overdue: Sequence[ItemState]


def board(day: date, crews: Collection[str] | None = None) -> list[CrewLine]:
    """One line for each active crew (or those of `crews`), in six queries whatever the number of pickers."""
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
    served = _served(codes, day)
    return [
        _line(crew, plans.get(crew.pk, []), _Today(members[crew.pk], served[crew.pk], out[crew.pk], day))
        for crew in crew_rows
    ]


@dataclass(frozen=True, slots=True)
class _Today:
    """What the book says of one crew's day: who is in it, who was served, what is out."""

    members: set[int]
    served: set[int]
    out: Sequence[ItemState]
    day: date


def _served(crews: Collection[str], day: date) -> dict[str, set[int]]:
    """Pickers by crew who were handed something on `day`, unless it was undone."""
    start, end = bounds(day)
    rows = Entry.objects.filter(
        verb__in=["handed_out", "reversed"], happened_at__gte=start, happened_at__lt=end
    )
    entries = list(rows.values_list("id", "verb", "crew", "picker", "detail"))
    undone = {detail["entry"] for _id, verb, _crew, _picker, detail in entries if verb == "reversed"}
    served: dict[str, set[int]] = defaultdict(set)
    for entry, verb, crew, picker, _detail in entries:
        if verb == "handed_out" and crew in crews and picker is not None and str(entry) not in undone:
            served[crew].add(picker)
    return served


def _line(crew: Crew, plans: Sequence[DayPlan], today: _Today) -> CrewLine:
    start, end = bounds(today.day)
    lines = asked(plans, present=len(today.members))
    waived = defaultdict(set)
    if hasattr(crew, "state"):
        for picker, kind, at in folded_crew(crew.state).state.waived:
            if start <= at < end:
                waived[picker].add(kind)
    kinds: dict[int, Counter[str]] = defaultdict(Counter)
    for state in today.out:
        if state.place == "picker" and state.picker_id is not None:
            kinds[state.picker_id][state.item.kind_id] += 1
    whole = [picker for picker in today.served if kit.complete(lines, kinds[picker], waived[picker])]
    overdue = [s for s in today.out if _late(s, start)]
    return CrewLine(crew, plans, len(today.members), len(today.served), len(whole), len(today.out), overdue)


def _late(state: ItemState, day_began: datetime) -> bool:
    back_by_night = state.item.kind.comes_back == "tonight" and state.place != "orchard"
    return back_by_night and state.since is not None and state.since < day_began
