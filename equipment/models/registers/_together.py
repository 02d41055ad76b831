"""Lines of the book of which the same is to be said and that follow soon on each other: one line of a register."""

from collections import deque
from collections.abc import Callable, Hashable, Iterable, Iterator
from datetime import datetime, timedelta
from typing import TypeVar

# A queue passes a counter in less, and what was done at another time of the day is told apart (common practice).
SOON = timedelta(minutes=10)
# No line is longer than this, and what a piece of paper names at once can still be looked up at once.
MOST = 60

T = TypeVar("T")


def together(
    rows: Iterable[T], at: Callable[[T], datetime], key: Callable[[T], Hashable], most: int = MOST
) -> Iterator[list[T]]:
    """`rows`, in order of `at`, in groups of one `key` within SOON of the group's first, in order of their firsts.

    Streamed: no more is held than what follows soon on each other.
    """
    waiting: deque[tuple[Hashable, list[T]]] = deque()
    open_ones: dict[Hashable, list[T]] = {}
    for row in rows:
        while waiting and at(row) - at(waiting[0][1][0]) > SOON:
            old, some = waiting.popleft()
            if open_ones.get(old) is some:
                del open_ones[old]
            yield some
        own = key(row)
        if own not in open_ones or len(open_ones[own]) >= most:
            open_ones[own] = []
            waiting.append((own, open_ones[own]))
        open_ones[own].append(row)
    yield from (some for _own, some in waiting)
