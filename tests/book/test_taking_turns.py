"""On SQLite writers are let in one at a time, in the order in which they came."""

import threading
from collections.abc import Callable

from equipment.ledger.lock import Turns


def until(true: Callable[[], bool]) -> None:
    """Wait for what another thread is about to do, at most half a minute."""
    waited = threading.Event()
    for _ in range(3000):
        if true():
            return
        waited.wait(0.01)
    raise AssertionError("it hangs")


def test_whoever_has_just_left_queues_behind_those_who_wait() -> None:
    turns, order = Turns(), []

    def write(name: str) -> None:
        with turns:
            order.append(name)

    counters = [threading.Thread(target=write, args=(name,)) for name in ("first", "second", "third")]
    with turns:
        for number, counter in enumerate(counters, start=1):
            counter.start()
            until(lambda number=number: len(turns._waiting) == number)
    write("the one that has just left")
    for counter in counters:
        counter.join(30)
    assert order == ["first", "second", "third", "the one that has just left"]


def test_only_one_is_in_at_a_time() -> None:
    turns, inside, seen = Turns(), [], []

    def write() -> None:
        for _ in range(300):
            with turns:
                inside.append(1)
                seen.append(len(inside))
                inside.pop()

    writers = [threading.Thread(target=write) for _ in range(6)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join(30)
    assert seen == [1] * 1800


def test_one_that_fails_lets_the_next_in() -> None:
    turns = Turns()
    try:
        with turns:
            raise ValueError
    except ValueError:
        pass
    with turns:
        assert turns._taken
    assert not turns._taken
