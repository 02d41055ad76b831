"""What a crew must hold together for the day: ladders, first aid, toolbox, water, spares."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from crews.models import Crew, DayPlan
from equipment.domain import kit
from equipment.domain.kit import KitLine
from equipment.models.kits import asked, plans_by_crew
from equipment.models.states import ItemState, Membership


@dataclass(frozen=True, slots=True)
class CrewKit:
    """`held` are the items that the crew as such holds now, not those of its pickers."""

    crew: Crew
    plans: Sequence[DayPlan]
    lines: tuple[KitLine, ...]
    held: Sequence[ItemState]

    @property
    def missing(self) -> tuple[KitLine, ...]:
        return kit.missing(self.lines, Counter(state.item.kind_id for state in self.held))

    @property
    def complete(self) -> bool:
        return all(line.need == "advised" for line in self.missing)


def crew_kit(crew: Crew, day: date) -> CrewKit:
    """The kit of `crew` for `day`, in three queries. Without a plan nothing is asked of a crew."""
    plans = plans_by_crew(day, [crew.pk]).get(crew.pk, [])
    present = Membership.objects.filter(crew=crew).current().count()
    held = ItemState.objects.filter(place="crew", crew=crew).select_related("item__kind").defer("fold")
    return CrewKit(
        crew=crew,
        plans=plans,
        lines=asked(plans, present, "crew") if plans else (),
        held=sorted(held, key=lambda state: (state.item.kind.position, state.tag)),
    )
