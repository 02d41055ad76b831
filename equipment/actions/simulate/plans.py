"""Day plans for the whole season and the week after it.

A crew stays in a block for a few days. No more crews are sent into tall trees at once than there are ladders for.
"""

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from random import Random

from crews.models import Block, Crew, DayPlan
from equipment.actions.simulate.farm import Farm, Team

PICKED_BY_SNAPPING = ("grapefruit", "orange")
PEOPLE_A_LADDER = 3
TALL_FIRST = 0.5
STAY = (2, 3, 3, 4, 5)


def make_plans(farm: Farm, random: Random, days: Sequence[date]) -> None:
    """A plan for each crew and day, but where it has one already."""
    for store in farm.stores:
        teams = [team for team in farm.teams if team.crew.store_id == store]
        DayPlan.objects.bulk_create(_of_store(farm, random, teams, days), ignore_conflicts=True)


def _of_store(farm: Farm, random: Random, teams: Sequence[Team], days: Iterable[date]) -> Iterable[DayPlan]:
    if not teams:
        return
    blocks = near(farm, teams[0].crew.store_id)
    most_tall = tall_at_once(farm, teams)
    where: dict[str, tuple[Block, int]] = {}
    for day in days:
        for team in teams:
            block, stay = where.get(team.code, (None, 0))
            if block is None or not stay:
                taken = [each for code, (each, _) in where.items() if code != team.code]
                block, stay = _next(random, blocks, taken, most_tall), random.choice(STAY)
            where[team.code] = block, stay - 1
            yield from _plans(random, team.crew, block, day, blocks)


def near(farm: Farm, store: str) -> list[Block]:
    """The blocks that a store's crews pick: those whose code begins as the store's does, and the first store's crews
    all the others. Where there are none of these, any."""
    initials = {code[0] for code in farm.stores}
    own = [block for block in farm.blocks if block.pk[0] == store[0]]
    if store == farm.stores[0]:
        own += [block for block in farm.blocks if block.pk[0] not in initials]
    return own or farm.blocks


def tall_at_once(farm: Farm, teams: Sequence[Team]) -> int:
    """How many of these crews can have their ladders at once, with one crew's left over for those stowed."""
    ladders = sum(1 for _ in farm.free(teams[0].crew.store_id, "ladder"))
    most = max(-(-len(team.people) // PEOPLE_A_LADDER) for team in teams)
    return max(0, ladders // max(1, most) - (1 if len(teams) > 1 and ladders >= 3 * most else 0))


def _next(random: Random, blocks: Sequence[Block], taken: Sequence[Block], most_tall: int) -> Block:
    """A block where nobody picks; tall trees only while there are ladders."""
    tall_full = sum(block.tall_trees for block in taken) >= most_tall
    fitting = [block for block in blocks if not (block.tall_trees and tall_full)] or list(blocks)
    free = [block for block in fitting if block not in taken] or fitting
    tall = [block for block in free if block.tall_trees]
    return random.choice(tall if tall and random.random() < TALL_FIRST else free)


def _plans(random: Random, crew: Crew, block: Block, day: date, blocks: Sequence[Block]) -> Iterable[DayPlan]:
    clipped = not (block.crop.lower() in PICKED_BY_SNAPPING and random.random() < 0.3)
    low = [other for other in blocks if other != block and not other.tall_trees]
    if random.random() < 0.08 and low:
        other = random.choice(low)
        yield DayPlan(date=day, crew=crew, block=block, clipped=clipped, part=DayPlan.Part.MORNING)
        yield DayPlan(date=day, crew=crew, block=other, clipped=True, part=DayPlan.Part.AFTERNOON)
    else:
        yield DayPlan(date=day, crew=crew, block=block, clipped=clipped)


def working_days(first: date, last: date, always: Iterable[date] = ()) -> list[date]:
    """From `first` to `last`, both included, without Sundays; but `always` these."""
    kept = set(always)
    days = [first + timedelta(days=n) for n in range((last - first).days + 1)]
    return [day for day in days if day.weekday() != 6 or day in kept]
