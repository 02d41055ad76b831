"""Of a sheet: the gear that a crew and its pickers have or had today, the visits its clocks run by, the baths."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Q
from pydantic import TypeAdapter

from crews.models import Crew
from equipment.domain import values
from equipment.domain.carried import carried, counts_from
from equipment.domain.fold import Folded
from equipment.domain.rules import Rules
from equipment.models import deriving, scans
from equipment.models.book import Entry
from equipment.models.kits import bounds
from equipment.models.projections import folded_bath, folded_item
from equipment.models.states import BathState, ItemState

# What is lost for longer nobody looks for in the orchard.
LOST_FOR = timedelta(days=14)
VISITS_FOR = timedelta(days=2)
BATHS_FOR = timedelta(days=1)
MOST_BATHS = 30
VISITS = TypeAdapter(dict[str, list[values.Visit]])
ITEM = TypeAdapter(values.ItemState)
BATH = TypeAdapter(values.BathState)


@dataclass(frozen=True, slots=True)
class Carried:
    """`own_visits` are the crew's of the last days and as long as any clock here counts, `other_visits` {crew: visits}
    those of other crews that had the gear."""

    items: list[dict[str, Any]]
    own_visits: list[values.Visit]
    other_visits: dict[str, list[dict[str, Any]]]


def carried_by(crew: Crew, members: Collection[int], day: date, rules: Rules) -> Carried:
    """What the crew or one of its pickers has, lost of late, or had today. Five queries."""
    start, _ = bounds(day)
    rows = ItemState.objects.filter(pk__in=_ids(crew, members, start)).select_related("item").order_by("tag")
    found = [(row, folded_item(row)) for row in rows]
    states = [folded.state for _, folded in found]
    visits = _visits(crew, states, start - VISITS_FOR, rules)
    own = visits.pop(crew.pk, [])
    return Carried(
        [_item(row, folded, rules, start) for row, folded in found], own, VISITS.dump_python(visits)
    )


def baths(store: str, day: date) -> list[dict[str, Any]]:
    """Baths of the store that stand, or were emptied or grew too old since yesterday; the last mixed in front. Three
    queries."""
    since = bounds(day)[0] - BATHS_FOR
    rows = BathState.objects.filter(store=store, mixed_at__isnull=False)
    rows = rows.filter(Q(emptied_at=None) | Q(emptied_at__gte=since))
    rows = rows.filter(Q(good_until=None) | Q(good_until__gte=since)).order_by("-mixed_at", "bath")
    states = {row.bath: folded_bath(row) for row in rows[:MOST_BATHS]}
    dipped = deriving.dips_in(set(states))
    return [
        {"bath": own, "state": BATH.dump_python(folded.state), "dipped": len(dipped[own])}
        for own, folded in states.items()
    ]


def _ids(crew: Crew, members: Collection[int], start: datetime) -> set[UUID]:
    """Each way has its own index."""
    lost = Q(place="missing", since__gte=start - LOST_FOR)
    of_crew = ItemState.objects.filter(Q(place__in=values.OUT) | lost, crew=crew)
    of_pickers = ItemState.objects.filter(place="picker", picker__in=members)
    today = Entry.objects.filter(
        crew=crew, verb__in=("handed_out", "returned"), happened_at__gte=start, item__isnull=False
    )
    return {
        *of_crew.values_list("pk", flat=True),
        *of_pickers.values_list("pk", flat=True),
        *today.values_list("item", flat=True),
    }


def _item(row: ItemState, folded: Folded[values.ItemState], rules: Rules, start: datetime) -> dict[str, Any]:
    state = carried(folded.state, rules.cleaning.get(folded.state.kind, ()), start)
    return {
        "tag": row.tag,
        "id": row.pk,
        "kind": row.item.kind_id,
        "size": row.item.size,
        "hand": row.item.hand,
        "set": row.packed_in_id,
        "state": ITEM.dump_python(state),
        "void": row.void,
    }


def _visits(
    crew: Crew, states: Iterable[values.ItemState], since: datetime, rules: Rules
) -> dict[str, list[values.Visit]]:
    """Of this crew and of those whose stints count, back to the first that a clock may ask for."""
    crews = {crew.pk}
    for state in states:
        of_kind = rules.cleaning.get(state.kind, ())
        if (first := counts_from(state, of_kind)) is None:
            continue
        stints = [s for s in state.stints if s.until is None or s.until > first]
        crews |= {stint.crew for stint in stints}
        since = min([since, first, *(stint.at for stint in stints)])
    found: dict[str, list[values.Visit]] = {}
    for code, visit in scans.visits(sorted(crews), since):
        found.setdefault(code, []).append(visit)
    return found
