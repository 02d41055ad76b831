"""What was reached and when, against published cases and against paths found in a graph laid out in time."""

from collections import defaultdict
from datetime import UTC, datetime
from itertools import pairwise
from typing import Any

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from equipment.domain.trace import earliest_arrivals
from tests import college_messages

Contact = tuple[int, str, str]

# Undirected and strict (computed two ways): A-B at 1, B-C at 2, C-D at 1, C-D at 4, E-A at 3, B-E at 5.
PAIRS = [(1, "A", "B"), (2, "B", "C"), (1, "C", "D"), (4, "C", "D"), (3, "E", "A"), (5, "B", "E")]
BOTH_WAYS = [*PAIRS, *((time, target, source) for time, source, target in PAIRS)]


def laid_out_in_time(contacts: list[Contact], seeds: dict[str, int], strict: bool) -> dict[str, int]:
    """The same question to networkx: each node stands once for every moment, reached then or ready to pass on.

    Definition of time-respecting paths: Holme & Saramäki 2012, Physics Reports 519:97-125.
    """
    moments: dict[str, set[int]] = defaultdict(set)
    graph = nx.DiGraph()
    graph.add_node("start")
    for time, source, target in contacts:
        moments[source].add(time)
        moments[target].add(time)
        graph.add_edge((source, time, "ready"), (target, time, "reached"))
    for node, time in seeds.items():
        moments[node].add(time)
        graph.add_edge("start", (node, time, "ready"))
    for node, times in moments.items():
        for earlier, later in pairwise(sorted(times)):
            graph.add_edge((node, earlier, "ready"), (node, later, "ready"))
            graph.add_edge((node, earlier, "reached"), (node, later, "ready"))
        if not strict:
            graph.add_edges_from(((node, time, "reached"), (node, time, "ready")) for time in times)
    found = dict(seeds)
    for node, time, state in nx.descendants(graph, "start"):
        if state == "reached":
            found[node] = min(time, found.get(node, time))
    return found


def test_the_published_case_in_both_directions() -> None:
    assert earliest_arrivals(BOTH_WAYS, {"A": 0}) == {"A": 0, "B": 1, "C": 2, "E": 3, "D": 4}
    assert earliest_arrivals(BOTH_WAYS, {"C": 0}) == {"C": 0, "D": 1, "B": 2, "E": 5}  # never A


CHAIN = [(5, "B", "C"), (5, "C", "D"), (5, "A", "B")]  # one moment, in the worst order

CASES: list[tuple[str, list[Contact], dict[str, int], bool, dict[str, int]]] = [
    ("nothing to follow", [], {"A": 3}, True, {"A": 3}),
    ("nowhere to start", CHAIN, {}, True, {}),
    ("a seed passes on at its own time", CHAIN, {"A": 5}, True, {"A": 5, "B": 5}),
    ("but not before it", CHAIN, {"A": 6}, True, {"A": 6}),
    ("one moment chains when not strict", CHAIN, {"A": 5}, False, {"A": 5, "B": 5, "C": 5, "D": 5}),
    ("and never backwards in time", [(4, "B", "C"), (5, "A", "B")], {"A": 0}, False, {"A": 0, "B": 5}),
    ("only along the direction", [(5, "B", "A")], {"A": 0}, True, {"A": 0}),
    ("a seed may be reached before its time", [(2, "A", "B")], {"A": 1, "B": 9}, True, {"A": 1, "B": 2}),
    (
        "and then passes on from there, later only",
        [(2, "A", "B"), (2, "B", "C"), (3, "B", "D")],
        {"A": 1, "B": 9},
        True,
        {"A": 1, "B": 2, "D": 3},
    ),
    (
        "a seed reached at its very time still passes on then",
        [(2, "A", "B"), (2, "B", "C")],
        {"A": 1, "B": 2},
        True,
        {"A": 1, "B": 2, "C": 2},
    ),
    ("contact with itself", [(1, "A", "A"), (1, "B", "B")], {"A": 0}, False, {"A": 0}),
]


@pytest.mark.parametrize(
    ("contacts", "seeds", "strict", "reached"), [case[1:] for case in CASES], ids=[c[0] for c in CASES]
)
def test_edges(contacts: list[Contact], seeds: dict[str, int], strict: bool, reached: dict[str, int]) -> None:
    assert earliest_arrivals(contacts, seeds, strict) == reached
    assert earliest_arrivals(reversed(contacts), seeds, strict) == reached
    assert laid_out_in_time(contacts, seeds, strict) == reached


nodes = st.sampled_from("ABCDEFGH")
times = st.integers(0, 6)


@given(
    st.lists(st.tuples(times, nodes, nodes), max_size=25),
    st.dictionaries(nodes, times, max_size=3),
    st.booleans(),
    st.randoms(use_true_random=False),
)
def test_against_networkx(contacts: list[Contact], seeds: dict[str, int], strict: bool, chance: Any) -> None:
    before = dict(seeds)
    reached = earliest_arrivals(contacts, seeds, strict)
    assert reached == laid_out_in_time(contacts, seeds, strict)
    assert seeds == before
    chance.shuffle(contacts)
    assert earliest_arrivals(iter(contacts), seeds, strict) == reached


def test_moments_may_be_times_of_day() -> None:
    nine, ten = datetime(2026, 6, 3, 9, tzinfo=UTC), datetime(2026, 6, 3, 10, tzinfo=UTC)
    assert earliest_arrivals([(ten, "N4", "CL0421")], {"N4": nine}) == {"N4": nine, "CL0421": ten}


@pytest.fixture(scope="module", name="messages")
def all_messages() -> list[Contact]:
    return college_messages.messages()


def test_college_messages(messages: list[Contact]) -> None:
    assert len(messages) == 59_835
    reached = earliest_arrivals(messages, {"9": 152_096})
    assert reached.pop("9") == 152_096
    # Computed two ways, the seed left out.
    assert (len(reached), sum(reached.values())) == (1775, 368_884_454)


@pytest.mark.parametrize("strict", [True, False])
def test_the_first_weeks_of_messages_against_networkx(messages: list[Contact], strict: bool) -> None:
    first = sorted(messages)[:6000]
    seeds = {"9": 152_096, "103": 160_000}
    reached = earliest_arrivals(first, seeds, strict)
    assert len(reached) > 300
    assert reached == laid_out_in_time(first, seeds, strict)
