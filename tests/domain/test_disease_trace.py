"""The disease trace against a farm played moment by moment, and the story that the page tells.

That time-respecting paths are what is looked for: Holme & Saramäki 2012, Physics Reports 519:97-125. The other way of
working it out here knows no paths: it holds, for every moment, what is infected, and lets all that is together share.
"""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equipment.domain.disease_trace import Life, Node, Question, Trace, Whereabouts, follow
from equipment.domain.trace import earliest_arrivals
from equipment.domain.whereabouts import Stay

START = datetime(2026, 6, 3, 5, tzinfo=UTC)
END = 9
CLIPPERS = [UUID(int=number) for number in range(1, 6)]
BLOCKS = "NSRT"


def hour(number: float) -> datetime:
    return START + timedelta(hours=number)


@dataclass
class SmallBook:
    """Answers from memory; `asked` remembers which pieces it was asked about."""

    pieces: Mapping[UUID, Whereabouts]
    asked: set[UUID]

    def carriers_in(self, blocks: Mapping[str, datetime]) -> Iterable[UUID]:
        for piece, found in self.pieces.items():
            for stay in found.stays:
                since = blocks.get(stay.block)
                if since is not None and (stay.until is None or stay.until >= since):
                    yield piece

    def whereabouts(self, pieces: Collection[UUID]) -> Mapping[UUID, Whereabouts]:
        assert not self.asked & set(pieces)
        self.asked |= set(pieces)
        return {piece: self.pieces[piece] for piece in pieces}


def traced(
    farm: Mapping[UUID, Whereabouts], strict: bool = True, steps: int | None = None, since: int = 0
) -> Trace:
    question = Question("N", hour(since), hour(END), strict, steps)
    return follow(SmallBook(farm, set()), question)


def times(trace: Trace) -> dict[Node, datetime]:
    return {node: reach.at for node, reach in trace.reached.items()}


# Moment by moment


def played(
    farm: Mapping[UUID, Whereabouts], since: int, strict: bool, steps: int | None
) -> dict[Node, datetime]:
    """When each was first infected. Every whole hour is looked at twice: the moment itself (left out where `strict`),
    and the time after it, up to the next. Of each infected it is known by how many blocks at least it came."""
    here = [(life, stay) for piece, found in farm.items() for life, stay in lives_of(piece, found)]
    blocks_passed: dict[Node, int] = {}
    first: dict[Node, datetime] = {}
    for now in range(since, END + 1):
        if now == since:
            blocks_passed["N"], first["N"] = 0, hour(now)
        for moment in (True, False):
            if moment and strict:
                continue
            if not moment and now == END and not strict:
                continue
            together = [(life, stay.block) for life, stay in here if is_there(stay, now, moment)]
            share(together, blocks_passed, steps)
            for node in blocks_passed:
                first.setdefault(node, hour(now))
    return first


def lives_of(piece: UUID, found: Whereabouts) -> list[tuple[Life, Stay]]:
    """Cut hour by hour, unlike what is tested."""
    cut = []
    for stay in found.stays:
        edges = sorted(
            {stay.at, *(k for k in found.kills if stay.at <= k and (stay.until is None or k <= stay.until))}
        )
        for at, until in zip(edges, [*edges[1:], stay.until], strict=True):
            number = sum(kill <= at for kill in found.kills)
            cut.append(((piece, number), stay._replace(at=at, until=until)))
        if stay.at in found.kills:
            before = sum(kill < stay.at for kill in found.kills)
            cut += [
                ((piece, n), stay._replace(until=stay.at))
                for n in range(before, sum(k <= stay.at for k in found.kills))
            ]
    return cut


def is_there(stay: Stay, now: int, moment: bool) -> bool:
    if moment:
        return stay.at <= hour(now) and (stay.until is None or hour(now) <= stay.until)
    return stay.at <= hour(now) and (stay.until is None or hour(now) < stay.until)


def share(together: list[tuple[Life, str]], passed: dict[Node, int], steps: int | None) -> None:
    changed = True
    while changed:
        before = dict(passed)
        for life, block in together:
            if block in passed and (steps is None or passed[block] < steps):
                passed[life] = min(passed.get(life, 99), passed[block])
            if life in passed:
                passed[block] = min(passed.get(block, 99), passed[life] + 1)
        changed = before != passed


hours = st.integers(0, END - 1)


@st.composite
def stays(draw: st.DrawFn) -> Stay:
    at = draw(hours)
    length = draw(st.one_of(st.none(), st.integers(0, 4)))
    return Stay(draw(st.sampled_from(BLOCKS)), hour(at), None if length is None else hour(at + length))


whereabouts = st.builds(
    Whereabouts,
    st.lists(stays(), max_size=4).map(tuple),
    st.lists(hours.map(hour), max_size=2, unique=True).map(tuple),
)
farms = st.dictionaries(st.sampled_from(CLIPPERS), whereabouts, max_size=5)


@given(farms, hours, st.booleans(), st.sampled_from([None, None, 1, 2]))
def test_random_farms_against_moment_by_moment(
    farm: Mapping[UUID, Whereabouts], since: int, strict: bool, steps: int | None
) -> None:
    """Visits that overlap, that were never closed, that last no time; cleanings before, in and after them."""
    farm = {
        piece: replace(
            found, stays=tuple(s for s in found.stays if s.until is None or s.until >= hour(since))
        )
        for piece, found in farm.items()
    }
    trace = traced(farm, strict, steps, since)
    assert times(trace) == played(farm, since, strict, steps)
    for node in trace.reached:
        check_path(trace, node, strict)


def check_path(trace: Trace, node: Node, strict: bool) -> None:
    """Every step of it is a stay that the book knows, in order of time."""
    path = trace.path(node)
    assert path[0] == "N" and path[-1] == node
    for source, target in pairwise(path):
        reach = trace.reached[target]
        assert reach.stay is not None and reach.stay.at <= reach.at
        assert reach.stay.until is None or (
            reach.at < reach.stay.until if strict else reach.at <= reach.stay.until
        )
        assert trace.reached[source].at <= reach.at
        assert reach.stay.block in (source, target)


@given(farms, st.booleans())
def test_every_moment_laid_out_and_given_to_earliest_arrivals(
    farm: Mapping[UUID, Whereabouts], strict: bool
) -> None:
    """The same by contacts at every whole hour, all at once: how `trace.earliest_arrivals`, which is checked against
    networkx, sees the farm."""
    contacts = []
    for piece, found in farm.items():
        for life, stay in lives_of(piece, found):
            for now in range(END + 1):
                if is_there(stay, now, moment=not strict):
                    contacts += [(hour(now), life, stay.block), (hour(now), stay.block, life)]
    assert times(traced(farm, strict)) == earliest_arrivals(contacts, {"N": START}, strict=False)


# Stories

A, B, C, D, _E = CLIPPERS


def test_a_story_of_two_steps() -> None:
    """A worked in N and went to S, where B was already; C came to S before; D after."""
    farm = {
        A: Whereabouts((Stay("N", hour(1), hour(2)), Stay("S", hour(3), hour(5)))),
        B: Whereabouts((Stay("S", hour(2), hour(4)), Stay("R", hour(6), hour(7)))),
        C: Whereabouts((Stay("S", hour(1), hour(3)), Stay("T", hour(6), hour(7)))),
        D: Whereabouts((Stay("S", hour(8), hour(9)),)),
    }
    trace = traced(farm)
    assert times(trace) == {
        "N": hour(0),
        (A, 0): hour(1),
        "S": hour(3),
        (B, 0): hour(3),
        "R": hour(6),
        (D, 0): hour(8),
    }
    assert trace.path("R") == ["N", (A, 0), "S", (B, 0), "R"]
    assert [trace.carrying(piece) for piece in (A, B, D)] == [True] * 3
    assert C in trace.pieces and not trace.carrying(C)  # it left S as A came
    same_time = times(traced(farm, strict=False))
    assert same_time[C, 0] == hour(3) and same_time["T"] == hour(6)


def test_a_cleaning_that_kills_cuts_the_path_until_it_is_in_the_block_again() -> None:
    clean = Whereabouts((Stay("N", hour(1), hour(2)), Stay("S", hour(3), hour(5))), (hour(2.5),))
    assert set(times(traced({A: clean}))) == {"N", (A, 0)}
    assert not traced({A: clean}).carrying(A)
    in_the_block = replace(clean, kills=(hour(1.5),))
    trace = traced({A: in_the_block})
    assert times(trace) == {"N": hour(0), (A, 0): hour(1), (A, 1): hour(1.5), "S": hour(3)}
    assert trace.carrying(A)
    too_late = replace(clean, kills=(hour(4),))
    trace = traced({A: too_late})
    assert "S" in trace.reached and (A, 1) in trace.reached and trace.carrying(A)


@pytest.mark.parametrize(
    ("steps", "reached"), [(1, {"N", (A, 0), "S"}), (2, {"N", (A, 0), "S", (B, 0), "R"}), (None, None)]
)
def test_how_far_is_followed(steps: int | None, reached: set[Node] | None) -> None:
    farm = {
        A: Whereabouts((Stay("N", hour(1), hour(2)), Stay("S", hour(3), hour(4)))),
        B: Whereabouts((Stay("S", hour(3), hour(4)), Stay("R", hour(5), hour(6)))),
        C: Whereabouts((Stay("R", hour(5), hour(6)), Stay("T", hour(7), hour(8)))),
    }
    found = set(traced(farm, steps=steps).reached)
    assert found == (reached or {"N", (A, 0), "S", (B, 0), "R", (C, 0), "T"})


def test_only_what_may_be_affected_is_asked_for() -> None:
    far = {UUID(int=n): Whereabouts((Stay("T", hour(1), hour(2)),)) for n in range(100, 200)}
    book = SmallBook({A: Whereabouts((Stay("N", hour(1), hour(2)),)), **far}, set())
    follow(book, Question("N", START, hour(END)))
    assert book.asked == {A}


def test_nothing_comes_of_a_block_that_nobody_visited_nor_of_one_that_will_be_ill() -> None:
    farm = {A: Whereabouts((Stay("S", hour(1), hour(2)),))}
    assert set(traced(farm).reached) == {"N"}
    ahead = follow(SmallBook(farm, set()), Question("S", hour(20), hour(END)))
    assert set(ahead.reached) == {"S"} and not ahead.pieces


def test_what_was_there_when_it_began_and_never_left_is_reached() -> None:
    trace = traced({A: Whereabouts((Stay("N", hour(-5), None),))}, since=2)
    assert times(trace) == {"N": hour(2), (A, 0): hour(2)}
