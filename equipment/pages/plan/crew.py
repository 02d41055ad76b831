"""One crew's morning: what it is to be handed, the spares to load, by when each dip falls due, the sets to pack."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.utils.formats import time_format
from django.utils.translation import gettext as _

from crews.models import DayPlan, Picker
from equipment.models import ItemState, Kind
from equipment.models.kits import usual_by_kind
from equipment.models.planning import CrewNeed, Evening
from equipment.models.rules import rules_at
from equipment.pages.plan import saying

# Hours at which picking may begin; the supervisor writes down the real one.
BEGINS = {DayPlan.Part.AFTERNOON: (time(12), time(12, 30), time(13))}
USUAL_BEGINS = (time(6), time(6, 30), time(7))
DAY_ENDS = time(17)


@dataclass(frozen=True)
class Handed:
    what: str
    count: int
    required: bool
    by_book: bool = False


@dataclass(frozen=True)
class DipDue:
    """`says` what ends the cleaning; `times`: picking begun then, due by then."""

    kind: str
    says: str
    times: Sequence[tuple[str, str]]


@dataclass(frozen=True)
class SetToPack:
    """What one picker usually has, as it lies now. `set` is where most of it is packed, "" where none is."""

    picker: str
    set: str
    packed: Sequence[ItemState]
    to_pack: Sequence[ItemState]
    tonight: Sequence[ItemState]
    lacking: Sequence[str]

    @property
    def complete(self) -> bool:
        return bool(self.packed) and not (self.to_pack or self.tonight or self.lacking)


def handed(need: CrewNeed, holder: str, kinds: Mapping[str, Kind]) -> list[Handed]:
    order = list(kinds)
    rows = sorted(need.of(holder), key=lambda each: (order.index(each.gear.kind), each.gear))
    return [
        Handed(saying.gear(each.gear, kinds, each.count != 1), each.count, each.required, each.by_book)
        for each in rows
    ]


def unknown_sizes(need: CrewNeed, kinds: Mapping[str, Kind]) -> list[Handed]:
    """Kinds that come in sizes or hands, for pickers whose own is not in the book: any size is counted."""
    found: Counter[str] = Counter()
    for each in need.of("picker"):
        kind = kinds[each.gear.kind]
        if (kind.hands and not each.gear.hand) or (kind.sizes and not each.gear.size):
            found[kind.pk] += each.count
    return [Handed(_(kinds[code].name_plural), count, True) for code, count in found.items()]


def dips_due(need: CrewNeed, day: date, at: datetime, kinds: Mapping[str, Kind]) -> list[DipDue]:
    """By the rules in force, for what the crew takes out: a dip, or any other cleaning that keeps a piece here."""
    rules = rules_at(at)
    asked = dict.fromkeys(each.gear.kind for each in need.asked)
    blocks = list(dict.fromkeys(plan.block_id for plan in need.plans))
    found = []
    for kind in asked:
        for rule in rules.cleaning.get(kind, ()):
            if rule.method == "sterilise" and (rule.hours_in_use or rule.other_block):
                words = _words(rule.hours_in_use, blocks if rule.other_block else blocks[:1])
                times = list(_times(rule.hours_in_use, need.plans, day)) if rule.hours_in_use else []
                found.append(DipDue(_(kinds[kind].name_plural), words, times))
    return found


def _words(hours: float | None, blocks: Sequence[str]) -> str:
    said = [_("after %(n)s hours of picking") % {"n": f"{hours:g}"}] if hours else []
    said += [_("before the first tree in %(block)s") % {"block": block} for block in blocks[1:]]
    said += [_("before any other block, and before another picker has it")]
    return "; ".join(said)


def _times(hours: float, plans: Sequence[DayPlan], day: date) -> Iterator[tuple[str, str]]:
    """Each hour that picking may begin, and when what goes out sterile falls due, again and again until evening."""
    part = plans[0].part if len(plans) == 1 else DayPlan.Part.DAY
    for begin in BEGINS.get(DayPlan.Part(part), USUAL_BEGINS):
        due, times = datetime.combine(day, begin) + timedelta(hours=hours), []
        while due <= datetime.combine(day, DAY_ENDS) and len(times) < 6:
            times.append(time_format(due.time(), "H:i"))
            due += timedelta(hours=hours)
        yield time_format(begin, "H:i"), ", ".join(times)


def sets_to_pack(need: CrewNeed, evening: Evening) -> list[SetToPack]:
    """For each picker of the crew, by name. Three queries."""
    people = list(
        Picker.objects.filter(pk__in=[person.picker for person in need.people]).order_by("name", "pk")
    )
    usual = usual_by_kind(people, evening.at)
    kinds = list(dict.fromkeys(each.gear.kind for each in need.of("picker")))
    return [_set(person, usual.get(person.pk, {}), kinds, evening) for person in people]


def _set(person: Picker, usual: Mapping[str, ItemState], kinds: Sequence[str], evening: Evening) -> SetToPack:
    tonight = evening.tasks
    own = [usual[kind] for kind in kinds if kind in usual]
    in_sets = Counter(piece.packed_in_id for piece in own if piece.packed_in_id)
    code = in_sets.most_common(1)[0][0] if in_sets else ""
    there = [piece for piece in own if piece.place == "store"]
    lying = [piece for piece in there if piece.fit_at(evening.ready_at) or piece.tag in tonight]
    packed = [piece for piece in lying if code and piece.packed_in_id == code]
    rest = [piece for piece in lying if piece not in packed]
    known = {piece.item.kind_id for piece in lying}
    return SetToPack(
        person.name,
        code,
        packed,
        [piece for piece in rest if piece.tag not in tonight],
        [piece for piece in rest if piece.tag in tonight],
        [str(evening.kinds[kind]) for kind in kinds if kind not in known],
    )
