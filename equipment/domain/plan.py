"""Tonight's jobs that cover tomorrow for the fewest minutes.

Covering comes first, minutes second: of each piece of gear as many are made fit as are asked for and can be, and of all
the ways to do that the quickest is chosen. A bath is mixed once, however many pieces are dipped in it, so that the
jobs cannot be picked one by one: the choice is a small integer programme, solved exactly (scipy's `milp`, HiGHS).
"""

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from equipment.domain.given import BadNumber, count, zero_or_more
from equipment.domain.words import gettext_noop

MINUTES = gettext_noop("Minutes")
NEEDED = gettext_noop("Pieces needed")
FIT = gettext_noop("Pieces fit now")


class Gear(NamedTuple):
    """What is asked for and what is there, alike enough that one piece serves for another."""

    kind: str
    size: str = ""
    hand: str = ""


@dataclass(frozen=True, slots=True)
class Bath:
    """A dip bath that would have to be mixed for `minutes`; 0 for one that stands ready. Raises ValueError."""

    name: str
    minutes: float

    def __post_init__(self) -> None:
        zero_or_more(MINUTES, self.minutes)


@dataclass(frozen=True, slots=True)
class Job:
    """All the work that makes one item fit, `minutes` of it, and the bath that it must be dipped in, if any.

    An item may have several jobs, one for each way to make it fit: at most one of them is chosen. Raises ValueError.
    """

    item: str
    gear: Gear
    minutes: float
    bath: Bath | None = None

    def __post_init__(self) -> None:
        zero_or_more(MINUTES, self.minutes)


@dataclass(frozen=True, slots=True)
class Plan:
    """The jobs to do, in the order given; what stays short (only what does); minutes with the baths mixed."""

    chosen: tuple[Job, ...]
    short: Mapping[Gear, int]
    minutes: float

    @property
    def baths(self) -> tuple[Bath, ...]:
        """The baths to mix, each once, in the order of the jobs."""
        return _baths(self.chosen)


class Rule(NamedTuple):
    """A constraint of the programme: the sum of the unknowns, each by its sign, lies from `low` to `high`."""

    signs: Mapping[int, int]
    low: int
    high: int


def cover(need: Mapping[Gear, int], fit: Mapping[Gear, int], jobs: Iterable[Job]) -> Plan:
    """The jobs that bring `fit` (pieces fit now) up to `need` as far as can be, for the fewest minutes.

    Minutes of jobs add up, and a bath's are paid once if any chosen job needs it (two baths are one where name and
    minutes are equal). Raises ValueError for counts that are not whole numbers from 0, and where the jobs of one item
    are for different gear.
    """
    offered = tuple(jobs)
    items = _items_by_gear(offered)
    lack = {gear: max(0, count(NEEDED, asked) - count(FIT, fit.get(gear, 0))) for gear, asked in need.items()}
    wanted = {gear: min(pieces, len(items[gear])) for gear, pieces in lack.items()}
    chosen = _quickest([job for job in offered if wanted.get(job.gear)], wanted)
    short = {gear: pieces - wanted[gear] for gear, pieces in lack.items() if pieces > wanted[gear]}
    return Plan(chosen, short, math.fsum(_minutes(chosen)))


def _items_by_gear(jobs: Iterable[Job]) -> dict[Gear, set[str]]:
    gear_of: dict[str, Gear] = {}
    items: dict[Gear, set[str]] = defaultdict(set)
    for job in jobs:
        if gear_of.setdefault(job.item, job.gear) != job.gear:
            raise BadNumber(
                gettext_noop("%(item)s stands in jobs for two sorts of gear: give it one."), item=job.item
            )
        items[job.gear].add(job.item)
    return items


def _quickest(jobs: Sequence[Job], wanted: Mapping[Gear, int]) -> tuple[Job, ...]:
    """So many jobs of each gear as `wanted`, no two of one item, with the fewest minutes of all choices.

    One unknown a job (do it?), then one a bath (mix it?), each 0 or 1.
    """
    if not jobs:
        return ()
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_array

    minutes = _minutes(jobs)
    rules = list(_rules(jobs, wanted))
    cells = [(row, column, sign) for row, rule in enumerate(rules) for column, sign in rule.signs.items()]
    rows, columns, signs = zip(*cells, strict=True)
    matrix = csr_array((signs, (rows, columns)), shape=(len(rules), len(minutes)))
    solved = milp(
        minutes,
        integrality=[1] * len(minutes),
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(matrix, [rule.low for rule in rules], [rule.high for rule in rules]),
        options={"mip_rel_gap": 0},
    )
    if not solved.success:
        raise RuntimeError(f"The plan could not be worked out: {solved.message}")
    return tuple(job for job, done in zip(jobs, solved.x, strict=False) if done > 0.5)


def _rules(jobs: Sequence[Job], wanted: Mapping[Gear, int]) -> Iterator[Rule]:
    """As many of each gear as wanted; each item once; no dip without its bath."""
    of_gear: dict[Gear, list[int]] = defaultdict(list)
    of_item: dict[str, list[int]] = defaultdict(list)
    baths = {bath: place for place, bath in enumerate(_baths(jobs), len(jobs))}
    for place, job in enumerate(jobs):
        of_gear[job.gear].append(place)
        of_item[job.item].append(place)
        if job.bath:
            yield Rule({place: 1, baths[job.bath]: -1}, -1, 0)
    for gear, places in of_gear.items():
        yield Rule(dict.fromkeys(places, 1), wanted[gear], wanted[gear])
    for places in of_item.values():
        if len(places) > 1:
            yield Rule(dict.fromkeys(places, 1), 0, 1)


def _baths(jobs: Iterable[Job]) -> tuple[Bath, ...]:
    return tuple(dict.fromkeys(job.bath for job in jobs if job.bath))


def _minutes(jobs: Sequence[Job]) -> list[float]:
    """Those of each job, then those of each bath."""
    return [job.minutes for job in jobs] + [bath.minutes for bath in _baths(jobs)]
