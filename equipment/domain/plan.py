"""Tonight's jobs that cover tomorrow for the fewest minutes.

Covering comes first, minutes second: as many pieces are made fit as are asked for and can be, and of all the ways to do
that the quickest is chosen. A bath is mixed once, however many pieces are dipped in it, so that the jobs cannot be
picked one by one: the choice is a small integer programme, solved exactly (scipy's `milp`, HiGHS).
"""

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from equipment.domain.given import BadNumber, count
from equipment.domain.jobs import Bath, Gear, Job, Plan
from equipment.domain.programme import Group, Programme, Way, in_order
from equipment.domain.words import gettext_noop

__all__ = ["Bath", "Gear", "Job", "Plan", "cover"]

NEEDED = gettext_noop("Pieces needed")
FIT = gettext_noop("Pieces fit now")


def cover(need: Mapping[Gear, int], fit: Mapping[Gear, int], jobs: Iterable[Job]) -> Plan:
    """The jobs that bring `fit` (pieces fit now) up to `need` as far as can be, for the fewest minutes.

    Minutes of jobs add up, and a bath's are paid once if any chosen job needs it (two baths are one where name and
    minutes are equal). Raises ValueError for counts that are not whole numbers from 0, and where the jobs of one item
    are for different gear.
    """
    asked = {Gear(*gear): pieces for gear, given in need.items() if (pieces := count(NEEDED, given))}
    there = {Gear(*gear): pieces for gear, given in fit.items() if (pieces := count(FIT, given))}
    offered = tuple(jobs)
    programme = Programme(asked, there, _alike(offered))
    done, served = programme.solved()
    chosen = _named(offered, programme.groups, done)
    short = {gear: pieces - served[gear] for gear, pieces in asked.items() if pieces > served[gear]}
    minutes = [job.minutes for job in chosen]
    plan = Plan(chosen, short, 0)
    return Plan(chosen, short, math.fsum([*minutes, *(bath.minutes for bath in plan.baths)]))


def _alike(jobs: Sequence[Job]) -> list[Group]:
    gear_of: dict[str, Gear] = {}
    ways: dict[str, set[Way]] = defaultdict(set)
    for job in jobs:
        if gear_of.setdefault(job.item, job.gear) != job.gear:
            raise BadNumber(
                gettext_noop("%(item)s stands in jobs for two sorts of gear: give it one."), item=job.item
            )
        ways[job.item].add((job.minutes, job.bath))
    groups: dict[tuple[Gear, frozenset[Way]], list[str]] = defaultdict(list)
    for item, of_item in ways.items():
        groups[Gear(*gear_of[item]), frozenset(of_item)].append(item)
    return [Group(gear, of_group, tuple(items)) for (gear, of_group), items in groups.items()]


def _named(
    jobs: Sequence[Job], groups: Sequence[Group], done: Mapping[tuple[int, Way], int]
) -> tuple[Job, ...]:
    """Of each group so many items by each way as `done` says, the first given first."""
    chosen: dict[str, Way] = {}
    for number, group in enumerate(groups):
        items = iter(group.items)
        for way in sorted(group.ways, key=in_order):
            chosen |= {next(items): way for _ in range(done.get((number, way), 0))}
    found: dict[str, Job] = {}
    for job in jobs:
        if chosen.get(job.item) == (job.minutes, job.bath):
            found.setdefault(job.item, job)
    return tuple(found.values())
