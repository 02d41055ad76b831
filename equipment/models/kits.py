"""What pickers must hold for the day, and what they hold: read from plans, memberships and states."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from functools import cache

from django.db.models import Count
from django.utils import timezone

from crews.models import DayPlan, Picker
from equipment import catalogue
from equipment.domain import kit
from equipment.domain.kit import KitLine, PlanFacts, Rule
from equipment.models.book import Entry
from equipment.models.projections import folded_crew
from equipment.models.replanning import standing
from equipment.models.states import CrewState, ItemState, Membership

NO_PLAN = PlanFacts(clipped=True, crop="", tall_trees=False, present=0)
"""A crew without a plan is equipped as for clipping: too much is carried back, too little stops the picking."""

USUAL_DAYS = 14


@dataclass(frozen=True, slots=True)
class PickerKit:
    """A picker's kit for a day. `held` are the items they hold now; `missing` the lines still to give."""

    picker: Picker
    crew: str | None
    plans: Sequence[DayPlan]
    lines: tuple[KitLine, ...]
    held: Sequence[ItemState]
    waived: frozenset[str] = frozenset()
    missing: tuple[KitLine, ...] = field(init=False)

    def __post_init__(self) -> None:
        counts = Counter(state.item.kind_id for state in self.held)
        object.__setattr__(self, "missing", kit.missing(self.lines, counts, self.waived))

    @property
    def complete(self) -> bool:
        return all(line.need == "advised" for line in self.missing)


@cache
def rules() -> tuple[Rule, ...]:
    return catalogue.load().rule


def facts(plan: DayPlan, present: int) -> PlanFacts:
    return PlanFacts(plan.clipped, plan.block.crop.lower(), plan.block.tall_trees, present)


def asked(plans: Sequence[DayPlan], present: int, holder: str = "picker") -> tuple[KitLine, ...]:
    """The lines that all plans of the day ask together: of two for a kind, the stricter."""
    return together([facts(plan, present) for plan in plans] or [replace(NO_PLAN, present=present)], holder)


def together(plans: Iterable[PlanFacts], holder: str) -> tuple[KitLine, ...]:
    work_out = kit.picker_kit if holder == "picker" else kit.crew_kit
    lines: dict[str, KitLine] = {}
    for plan_facts in plans:
        for line in work_out(rules(), plan_facts):
            best = lines.get(line.kind, line)
            lines[line.kind] = max(best, line, key=lambda each: (each.need == "required", each.quantity))
    return tuple(lines.values())


def kits(pickers: Iterable[Picker], day: date) -> list[PickerKit]:
    """The kits of these pickers in six queries, however many they are."""
    pickers = list(pickers)
    crew_of = dict(Membership.objects.filter(picker__in=pickers).current().values_list("picker", "crew"))
    plans = plans_by_crew(day, set(crew_of.values()))
    held = defaultdict(list)
    for state in ItemState.objects.filter(place="picker", picker__in=pickers).select_related("item__kind"):
        held[state.picker_id].append(state)
    waived = _waived(set(crew_of.values()), pickers, day)
    return [
        PickerKit(
            picker=picker,
            crew=crew_of.get(picker.pk),
            plans=plans.get(crew_of.get(picker.pk, ""), []),
            lines=asked(plans.get(crew_of.get(picker.pk, ""), []), present=0),
            held=sorted(held[picker.pk], key=lambda state: (state.item.kind.position, state.tag)),
            waived=waived.get(picker.pk, frozenset()),
        )
        for picker in pickers
    ]


def plans_by_crew(day: date, crews: Iterable[str] | None = None) -> dict[str, list[DayPlan]]:
    """Plans of the day as they stand, those that were not cancelled, by crew, in the order of the day."""
    plans = DayPlan.objects.filter(date=day).select_related("block")
    if crews is not None:
        crews = set(crews)
        plans = plans.filter(crew__in=crews)
    found: dict[str, list[DayPlan]] = defaultdict(list)
    for plan in standing(plans, (day, day), crews):
        if plan.state != DayPlan.State.CANCELLED:
            found[plan.crew_id].append(plan)
    return dict(found)


def bounds(day: date) -> tuple[datetime, datetime]:
    """The farm's day as UTC-aware times, the first included, the second not."""
    start = timezone.make_aware(datetime.combine(day, time.min))
    return start, timezone.make_aware(datetime.combine(day + timedelta(days=1), time.min))


def _waived(crews: set[str], pickers: Sequence[Picker], day: date) -> Mapping[int, frozenset[str]]:
    """Kinds waived on `day` by a `waived` entry, or along with a hand-out."""
    start, end = bounds(day)
    found: dict[int, set[str]] = defaultdict(set)
    for row in CrewState.objects.filter(crew__in=crews):
        for picker, kind, at in folded_crew(row).state.waived:
            if start <= at < end:
                found[picker].add(kind)
    given = Entry.objects.filter(
        verb="handed_out",
        picker__in=pickers,
        happened_at__gte=start,
        happened_at__lt=end,
        detail__has_key="waived",
    )
    for picker, detail in given.values_list("picker", "detail"):
        if detail["waived"]:
            found[picker].add(detail["waived"])
    return {picker: frozenset(kinds) for picker, kinds in found.items()}


def usual_items(picker: Picker, at: datetime, most: int = 6) -> list[ItemState]:
    """The items handed to this picker most often in the two weeks before `at`, most often first."""
    since = at - timedelta(days=USUAL_DAYS)
    counted = (
        Entry.objects.filter(verb="handed_out", picker=picker, happened_at__gte=since)
        .values("item")
        .annotate(times=Count("id"))
        .order_by("-times", "item")[:most]
    )
    order = [row["item"] for row in counted]
    states = ItemState.objects.filter(item__in=order).exclude(place="gone").select_related("item__kind")
    return sorted(states, key=lambda state: order.index(state.item_id))


def usual_by_kind(pickers: Iterable[Picker], at: datetime) -> dict[int, dict[str, ItemState]]:
    """For each picker, of each kind the item handed to them most often in the two weeks before `at`. Two queries."""
    since = at - timedelta(days=USUAL_DAYS)
    counted = (
        Entry.objects.filter(verb="handed_out", picker__in=list(pickers), happened_at__gte=since)
        .values("picker", "item")
        .annotate(times=Count("id"))
        .order_by("-times", "item")
    )
    pairs = [(row["picker"], row["item"]) for row in counted]
    states = ItemState.objects.exclude(place="gone").select_related("item__kind").defer("fold")
    found = states.in_bulk({item for _, item in pairs})
    usual: dict[int, dict[str, ItemState]] = defaultdict(dict)
    for picker, item in pairs:
        if item in found:
            usual[picker].setdefault(found[item].item.kind_id, found[item])
    return dict(usual)
