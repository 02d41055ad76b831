"""What a contamination can have reached, and when: paths whose contacts follow each other in time.

Source of the definition: Holme and Saramäki 2012, Temporal networks, Physics Reports 519:97-125.
"""

from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping
from itertools import groupby
from operator import itemgetter
from typing import Any, TypeVar

Node = TypeVar("Node", bound=Hashable)
Time = TypeVar("Time", bound=Any)
"""Numbers or datetimes: whatever can be put in order. One kind only in a call."""


def earliest_arrivals(
    contacts: Iterable[tuple[Time, Node, Node]], seeds: Mapping[Node, Time], strict: bool = True
) -> dict[Node, Time]:
    """The earliest time at which each node is reached, seeds included with their own time (or an earlier one).

    `contacts` are (time, source, target), in any order; `seeds` maps where it starts to since when. A seed passes on at
    or after its time. Any other node passes on, when `strict`, only later than the time it was reached; when not, at
    that time too, so that contacts of one moment chain in whatever order they come. Nodes that are not reached are
    left out. Work: sorting the contacts, then one look at each.
    """
    reached = dict(seeds)
    in_time = sorted(contacts, key=itemgetter(0))
    return _strictly(in_time, seeds, reached) if strict else _at_once(in_time, reached)


def _strictly(
    in_time: list[tuple[Time, Node, Node]], seeds: Mapping[Node, Time], reached: dict[Node, Time]
) -> dict[Node, Time]:
    for time, source, target in in_time:
        since = reached.get(source)
        if since is None or not (since < time or (source in seeds and seeds[source] <= time)):
            continue
        if target not in reached or time < reached[target]:
            reached[target] = time
    return reached


def _at_once(in_time: list[tuple[Time, Node, Node]], reached: dict[Node, Time]) -> dict[Node, Time]:
    for time, moment in groupby(in_time, key=itemgetter(0)):
        targets: dict[Node, list[Node]] = defaultdict(list)
        for _, source, target in moment:
            targets[source].append(target)
        spreading = [source for source in targets if source in reached and reached[source] <= time]
        while spreading:
            for target in targets.pop(spreading.pop()):
                if target not in reached or time < reached[target]:
                    reached[target] = time
                    if target in targets:
                        spreading.append(target)
    return reached
