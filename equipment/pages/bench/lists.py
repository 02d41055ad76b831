"""The bench as lists in the order of work: what the evening's plan chose first, in its order, then the oldest."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _

from equipment.actions import names
from equipment.domain.condition import CONTENTS
from equipment.models import Kind, bench, planning
from equipment.models.bench import Falling, Narrowed
from equipment.models.kits import bounds
from equipment.models.planning import Evening, Sort, Task
from equipment.pages.piece import Piece, pieces
from equipment.pages.plan import saying
from equipment.pages.plan.tonight import AT_THE_BENCH

# So many lines of a list; a longer one says how many more there are and how to narrow it.
LINES = 60


@dataclass(frozen=True)
class Line:
    """`at` stands in the margin; `wanted`: the evening's plan chose it; `late`: its time is up."""

    tag: str
    kind: Kind
    at: datetime
    what: str
    store: str
    wanted: bool
    late: bool = False
    out: bool = False


@dataclass(frozen=True)
class Part:
    """One list: `count` in all, of which `lines` show."""

    name: str
    title: str
    lead: str
    count: int
    lines: Sequence[Line]
    icon: str = "mend"

    @property
    def more(self) -> int:
        return self.count - len(self.lines)


@dataclass(frozen=True)
class Look:
    """A short check of a kind that so many pieces in the store wait for."""

    name: str
    kind: str
    count: int


@dataclass(frozen=True)
class Wanting:
    """A sort of gear that the next day is short of, in words."""

    name: str
    icon: str
    store: str
    sort: Sort


@dataclass(frozen=True)
class Bench:
    day: date | None
    wanting: Sequence[Wanting]
    parts: Sequence[Part]
    looks: Sequence[Look]
    tags: Sequence[str] = field(default=())

    @property
    def empty(self) -> bool:
        return not any(part.count for part in self.parts)


def read(narrowed: Narrowed, at: datetime) -> Bench:
    """All that the page lists, in a number of queries that does not grow."""
    today = timezone.localdate(at)
    day = planning.next_day(at)
    falling = bench.falling(narrowed, bounds(day or today)[1])
    evening = planning.evening(day, at, narrowed.store) if day else None
    order = _Order(evening, {kind.pk: kind for kind in Kind.objects.all()}, at)
    aside = pieces(bench.set_aside(narrowed), at)
    parts = [
        order.part("mend", _waiting(aside, False), _aside),
        order.part("pass", _waiting(aside, True), _aside),
        order.part(
            "by", [each for each in falling if each.what == "mend" and each.place != "bench"], _mend_by
        ),
        order.part("inspect", [each for each in falling if each.what == "inspect"], _inspect),
    ]
    tags = [piece.row.tag for piece in aside]
    return Bench(day, order.wanting(narrowed), parts, _looks(narrowed, order.kinds, at), tags)


def _waiting(aside: Sequence[Piece], passing: bool) -> list[Piece]:
    """Those where every fault that stops the piece is mended, or those where one is still to mend."""
    return [piece for piece in aside if all(f.mended_at for f in piece.found.stopping) == passing]


def _looks(narrowed: Narrowed, kinds: dict[str, Kind], at: datetime) -> list[Look]:
    counted = bench.to_look_over(narrowed, at)
    found = [Look(names.checklist(name), str(kinds[kind]), count) for (name, kind), count in counted.items()]
    return sorted(found, key=lambda look: (-look.count, look.name))


class _Order:
    """Puts lines in order: what the plan chose first, then the oldest."""

    def __init__(self, evening: Evening | None, kinds: dict[str, Kind], at: datetime) -> None:
        self.evening, self.kinds, self.at = evening, kinds, at
        self.ranks = {tag: rank for rank, tag in enumerate(evening.tasks if evening else {})}

    def part(self, name: str, found: Sequence[Any], line: Callable[["_Order", Any], Line]) -> Part:
        last = len(self.ranks)
        lines = sorted(
            (line(self, each) for each in found),
            key=lambda each: (self.ranks.get(each.tag, last), each.at, each.tag),
        )
        title, lead, icon = _parts()[name]
        return Part(name, title, lead, len(lines), lines[:LINES], icon)

    def wanted(self, tag: str) -> bool:
        return tag in self.ranks

    def wanting(self, narrowed: Narrowed) -> list[Wanting]:
        """What the bench can help, and what it cannot though somebody will be held back."""
        return [
            Wanting(saying.gear(sort.gear, self.kinds), self.kinds[sort.gear.kind].icon, store.store.pk, sort)
            for store in (self.evening.stores if self.evening else ())
            for sort in store.sorts
            if narrowed.kind in ("", sort.gear.kind)
            if sort.lacking or (sort.short and sort.gear.kind in _here(store.tasks))
        ]


def _here(tasks: Sequence[Task]) -> set[str]:
    """The kinds of which the plan has pieces for the bench."""
    return {task.job.gear.kind for task in tasks if AT_THE_BENCH & {step.what for step in task.piece.steps}}


def _parts() -> dict[str, tuple[str, str, str]]:
    """Title, lead and icon of each list."""
    return {
        "mend": (_("To mend"), _("Set aside: a fault stops their use."), "mend"),
        "pass": (_("To pass"), _("Mended, and waiting for somebody to look at the mend."), "yes"),
        "by": (_("To mend by a day"), _("These go out until then."), "clock"),
        "inspect": (_("To inspect"), _("In a store; they stay here until it is done."), "inspect"),
    }


def _aside(order: _Order, piece: Piece) -> Line:
    row = piece.row
    faults = sorted(piece.found.stopping, key=lambda fault: fault.at)
    what = "; ".join(names.fault(fault.fault) for fault in faults)
    return Line(
        tag=row.tag,
        kind=row.item.kind,
        at=faults[0].at,
        what=what,
        store=row.store_id or "",
        wanted=order.wanted(row.tag),
    )


def _mend_by(order: _Order, each: Falling) -> Line:
    return _falling(order, each, names.fault(each.name))


def _inspect(order: _Order, each: Falling) -> Line:
    contents = _("What belongs in it is past its date")
    return _falling(order, each, contents if each.name == CONTENTS else names.checklist(each.name))


def _falling(order: _Order, each: Falling, what: str) -> Line:
    return Line(
        tag=each.tag,
        kind=order.kinds[each.kind],
        at=each.at,
        what=what,
        store=each.store or "",
        wanted=order.wanted(each.tag),
        late=each.at <= order.at,
        out=each.place not in bench.IN_STORE,
    )
