"""What the crews of a day must hold: by crew, kind, size and hand, from the kit rules, spares included."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.utils import timezone

from crews.models import Crew, DayPlan
from equipment.domain.jobs import Gear
from equipment.domain.kit import KitLine
from equipment.models.gear import Kind
from equipment.models.kits import asked, plans_by_crew, rules
from equipment.models.planning.spares import Known, spares_to_load
from equipment.models.states import Membership

DAYS_AHEAD = 7
# When the morning's gear goes out.
FIRST_LIGHT = time(5, 30)
# Which of a picker's sizes goes with which kind; hands go with all kinds that have two.
SIZES = {"gloves": "glove_size", "glove": "glove_size", "gumboots": "boot_size", "overalls": "overall_size"}
PICKER_COLUMNS = (
    "crew",
    "picker",
    "picker__hand",
    *(f"picker__{name}" for name in dict.fromkeys(SIZES.values())),
)


@dataclass(frozen=True, slots=True)
class Person:
    """A picker as a plan sees them: `traits` by the names of the columns."""

    picker: int
    traits: Mapping[str, str]

    def gear(self, kind: Kind) -> Gear:
        size = self.traits.get(SIZES.get(kind.pk, ""), "") if kind.sizes else ""
        return Gear(kind.pk, size, self.traits["hand"] if kind.hands else "")


@dataclass(frozen=True, slots=True)
class Asked:
    """`count` pieces of `gear`, for each picker, for the crew as such, or as spares. `per`: one serves so many people,
    None where it is not by heads; `by_book`: the number of spares goes by the book's own swaps."""

    gear: Gear
    count: int
    required: bool
    holder: str
    per: int | None = None
    by_book: bool = False


@dataclass(frozen=True, slots=True)
class CrewNeed:
    """Without pickers a crew asks for nothing."""

    crew: Crew
    plans: Sequence[DayPlan]
    people: Sequence[Person]
    asked: Sequence[Asked]

    def of(self, holder: str) -> list[Asked]:
        return [each for each in self.asked if each.holder == holder]


def first_light(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, FIRST_LIGHT))


def next_day(at: datetime) -> date | None:
    """The next day with plans, within a week, whose first light is still to come at `at`; None where there is none. One
    query."""
    today = timezone.localdate(at)
    first = today if at < first_light(today) else today + timedelta(days=1)
    plans = DayPlan.objects.filter(date__gte=first, date__lte=today + timedelta(days=DAYS_AHEAD))
    days = plans.exclude(state=DayPlan.State.CANCELLED).order_by("date").values_list("date", flat=True)
    return days.first()


def needs(day: date, kinds: Mapping[str, Kind], known: Known, store: str = "") -> list[CrewNeed]:
    """Of each crew planned for `day`, as the plans stand (of `store`, "" for all), by name; `known` are the spares by
    the book. Three queries, three more where crews changed their plans. Who is in which crew is as of now: one lent to
    another crew counts there."""
    plans = plans_by_crew(day)
    rows = Crew.objects.filter(pk__in=plans, active=True).select_related("supervisor", "store")
    crews = list((rows.filter(store=store) if store else rows).order_by("name"))
    people = _people([crew.pk for crew in crews])
    return [
        CrewNeed(
            crew,
            plans[crew.pk],
            people[crew.pk],
            tuple(_Asking(crew.pk, people[crew.pk], kinds, known).all(plans[crew.pk])),
        )
        for crew in crews
    ]


def _people(crews: Sequence[str]) -> Mapping[str, list[Person]]:
    found: dict[str, list[Person]] = defaultdict(list)
    rows = Membership.objects.filter(crew__in=crews).current().order_by("picker__name", "picker")
    for crew, picker, *traits in rows.values_list(*PICKER_COLUMNS):
        names = [name.removeprefix("picker__") for name in PICKER_COLUMNS[2:]]
        found[crew].append(Person(picker, dict(zip(names, traits, strict=True))))
    return found


@dataclass(frozen=True)
class _Asking:
    """What one crew is asked for."""

    crew: str
    people: Sequence[Person]
    kinds: Mapping[str, Kind]
    known: Known

    def all(self, plans: Sequence[DayPlan]) -> Iterator[Asked]:
        if not self.people:
            return
        own = asked(plans, len(self.people))
        for line in own:
            for gear, pickers in Counter(each.gear(self.kinds[line.kind]) for each in self.people).items():
                yield Asked(gear, pickers * line.quantity, line.need == "required", "picker")
        shared = {line.kind: line for line in asked(plans, len(self.people), "crew")}
        to_crews = [line for line in shared.values() if self.kinds[line.kind].issued_to == "crew"]
        yield from (_shared(line) for line in to_crews)
        for kind in dict.fromkeys([*(line.kind for line in own), *shared]):
            if self.kinds[kind].issued_to == "picker":
                yield from self._spares(kind, shared.get(kind))

    def _spares(self, kind: str, line: KitLine | None) -> Iterator[Asked]:
        by_rule = _in_proportion(line.quantity, self.people, self.kinds[kind]) if line else {}
        required = line is not None and line.need == "required"
        # What a rule requires is not talked down by a quiet month.
        found = spares_to_load(self.crew, kind, {} if required else self.known, by_rule)
        for gear, pieces in found.sorts.items():
            if pieces:
                yield Asked(gear, pieces, required, "spare", by_book=found.by_book)


def _shared(line: KitLine) -> Asked:
    by_heads = [rule.per for rule in rules() if rule.kind == line.kind and rule.holder == "crew" and rule.per]
    return Asked(
        Gear(line.kind), line.quantity, line.need == "required", "crew", by_heads[0] if by_heads else None
    )


def _in_proportion(pieces: int, people: Sequence[Person], kind: Kind) -> Counter[Gear]:
    """Spares in the sizes and hands of the crew, by the largest remainder."""
    pickers = Counter(person.gear(kind) for person in people)
    shares = {gear: divmod(pieces * count, len(people)) for gear, count in pickers.items()}
    found = Counter({gear: whole for gear, (whole, _) in shares.items()})
    for gear in sorted(shares, key=lambda gear: (-shares[gear][1], gear))[: pieces - found.total()]:
        found[gear] += 1
    return +found
