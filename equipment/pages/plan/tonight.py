"""Tonight's work of one store as a few lines: pieces that are alike in one, the baths to mix beside them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from equipment.actions.wording import moment
from equipment.domain.jobs import Bath
from equipment.models import Kind
from equipment.models.planning import StoreEvening, Task, by_bath, litres
from equipment.pages.plan import saying
from equipment.pages.wash.recipes import with_words

AT_THE_BENCH = frozenset({"mend", "pass", "inspect", "restock"})
MOST_TAGS = 60


@dataclass(frozen=True)
class Line:
    """`count` pieces alike; `out`: so many of them are not back yet. `minutes` of each."""

    icon: str
    gear: str
    do: str
    into: str
    count: int
    out: int
    minutes: float
    from_book: bool
    required: bool
    tags: Sequence[str]

    @property
    def more(self) -> int:
        return self.count - len(self.tags)

    @property
    def together(self) -> str:
        return saying.minutes(self.count * self.minutes)


@dataclass(frozen=True)
class Mixing:
    """A bath that the dips need: `says` how much and until when; `recipe` is its code, "" for one that stands."""

    name: str
    pieces: int
    minutes: str
    says: str
    recipe: str
    cautions: Sequence[str]


@dataclass(frozen=True)
class Work:
    bench: Sequence[Line]
    wash: Sequence[Line]
    baths: Sequence[Mixing]


def work(store: StoreEvening, kinds: Mapping[str, Kind]) -> Work:
    """In the order of doing. A piece that is to mend and to clean stands with the bench: that comes first."""
    keyed = [(_key(task), task) for task in store.tasks]
    order = {key: place for place, key in reversed(list(enumerate(key for key, _ in keyed)))}
    keyed.sort(key=lambda each: order[each[0]])
    lines = [
        (key, _line([task for _, task in alike], store, kinds))
        for key, alike in groupby(keyed, key=lambda each: each[0])
    ]
    at_bench = [line for key, line in lines if AT_THE_BENCH & {step.what for step in key[2]}]
    return Work(at_bench, [line for _, line in lines if line not in at_bench], _baths(store))


def _key(task: Task) -> tuple[object, ...]:
    return task.required, task.job.gear, task.piece.steps, task.job.bath, task.job.minutes


def _line(tasks: Sequence[Task], store: StoreEvening, kinds: Mapping[str, Kind]) -> Line:
    first = tasks[0]
    return Line(
        kinds[first.job.gear.kind].icon,
        saying.gear(first.job.gear, kinds, len(tasks) > 1),
        saying.steps(first.piece.steps),
        _into(store, first.job.bath),
        len(tasks),
        sum(task.piece.out for task in tasks),
        first.job.minutes,
        any(store.ways.minutes.from_book(step) for step in first.piece.steps),
        first.required,
        [task.piece.tag for task in tasks[:MOST_TAGS]],
    )


def _into(store: StoreEvening, bath: Bath | None) -> str:
    return with_words(store.ways.dips[bath].recipe).name if bath else ""


def _baths(store: StoreEvening) -> list[Mixing]:
    return [_mixing(store, bath, pieces) for bath, pieces in by_bath(store.plan.chosen).items()]


def _mixing(store: StoreEvening, bath: Bath, pieces: int) -> Mixing:
    dip = store.ways.dips[bath]
    recipe = with_words(dip.recipe)
    said = [
        ngettext("For %(n)d piece.", "For %(n)d pieces.", pieces) % {"n": pieces},
        _("It stands ready, until %(when)s.") % {"when": moment(dip.until)} if dip.own and dip.until else "",
        _("It stands ready.") if dip.own and not dip.until else "",
    ]
    if not dip.own and (least := litres(dip, pieces)):
        said.append(_("At least %(n)d L.") % {"n": least})
    if not dip.own and dip.recipe.life_minutes:
        said.append(_("Good for %(time)s.") % {"time": saying.minutes(dip.recipe.life_minutes)})
    return Mixing(
        recipe.name,
        pieces,
        saying.minutes(bath.minutes) if bath.minutes else "",
        " ".join(each for each in said if each),
        "" if dip.own else dip.recipe.code,
        recipe.cautions,
    )
