"""The integer programme behind tonight's plan: which of many alike to do, which baths to mix, what serves for whom.

Jobs that are alike are one unknown, a count: a thousand clippers to dip are as quickly planned as ten.
"""

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from equipment.domain.jobs import Bath, Gear, serves

Way = tuple[float, Bath | None]
"""The minutes of a job, and its bath."""


@dataclass(frozen=True)
class Group:
    """Items that are alike: the same gear, and the same ways to make them fit."""

    gear: Gear
    ways: frozenset[Way]
    items: tuple[str, ...]


def in_order(way: Way) -> tuple[float, float, str]:
    minutes, bath = way
    return minutes, bath.minutes if bath else 0, bath.name if bath else ""


@dataclass
class Programme:
    """Unknowns, all whole: how many of a group by a way, whether a bath is mixed, how many pieces of one gear serve for
    another."""

    asked: Mapping[Gear, int]
    there: Mapping[Gear, int]
    groups: Sequence[Group]
    names: dict[Any, int] = field(default_factory=dict)
    costs: list[float] = field(default_factory=list)
    most: list[float] = field(default_factory=list)
    rules: list[tuple[dict[int, float], float, float]] = field(default_factory=list)

    def __post_init__(self) -> None:
        wanted = {kind: 0 for kind, *_ in self.asked}
        for gear, pieces in self.asked.items():
            wanted[gear.kind] += pieces
        made: dict[Gear, dict[int, float]] = defaultdict(dict)
        for number, group in enumerate(self.groups):
            most = min(len(group.items), wanted.get(group.gear.kind, 0))
            if most:
                made[group.gear] |= self._made(number, group, most)
        self._serving(made)

    def _made(self, number: int, group: Group, most: int) -> dict[int, float]:
        """Each item once; no dip without its bath."""
        of_group: dict[int, float] = {}
        for way in sorted(group.ways, key=in_order):
            minutes, bath = way
            place = self._unknown(("do", number, way), minutes, most)
            of_group[place] = -1
            if bath:
                mixed = self._unknown(("mix", bath), bath.minutes, 1)
                self.rules.append(({place: 1, mixed: -most}, -math.inf, 0))
        self.rules.append((of_group, -most, 0))
        return of_group

    def _serving(self, made: Mapping[Gear, Mapping[int, float]]) -> None:
        """No more serve than are fit or made so, and nowhere more than are asked for."""
        given: dict[Gear, dict[int, float]] = defaultdict(dict)
        for piece in dict.fromkeys([*self.there, *made]):
            taken = dict(made.get(piece, {}))
            for gear, pieces in self.asked.items():
                if serves(piece, gear):
                    place = self._unknown(("serve", piece, gear), 0, pieces)
                    taken[place] = given[gear][place] = 1
            if taken:
                self.rules.append((taken, -math.inf, self.there.get(piece, 0)))
        self.rules += [(places, 0, self.asked[gear]) for gear, places in given.items()]

    def _unknown(self, name: Any, cost: float, most: float) -> int:
        if name not in self.names:
            self.names[name] = len(self.names)
            self.costs.append(cost)
            self.most.append(most)
        return self.names[name]

    def solved(self) -> tuple[dict[tuple[int, Way], int], dict[Gear, int]]:
        """What is done, by group and way; how many of each gear are served: first the most that can be, then of all
        ways to serve so many the quickest."""
        serving = {place: 1.0 for name, place in self.names.items() if name[0] == "serve"}
        served: dict[Gear, int] = dict.fromkeys(self.asked, 0)
        if not serving:
            return {}, served
        as_many = self._solve([-serving.get(place, 0.0) for place in range(len(self.names))])
        most = sum(as_many[place] for place in serving)
        self.rules.append((serving, most, most))
        values = self._solve(self.costs)
        for name, place in self.names.items():
            if name[0] == "serve":
                served[name[2]] += values[place]
        done = {name[1:]: values[place] for name, place in self.names.items() if name[0] == "do"}
        return done, served

    def _solve(self, costs: Sequence[float]) -> list[int]:
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import csr_array

        cells = [(row, place, sign) for row, rule in enumerate(self.rules) for place, sign in rule[0].items()]
        rows, places, signs = zip(*cells, strict=True)
        matrix = csr_array((signs, (rows, places)), shape=(len(self.rules), len(costs)))
        solved = milp(
            costs,
            integrality=[1] * len(costs),
            bounds=Bounds(0, self.most),
            constraints=LinearConstraint(
                matrix, [rule[1] for rule in self.rules], [r[2] for r in self.rules]
            ),
            options={"mip_rel_gap": 0},
        )
        if not solved.success:
            raise RuntimeError(f"The plan could not be worked out: {solved.message}")
        return [round(value) for value in solved.x]
