"""Each thing that can contradict has a few sensible ways to settle it, and only those that its subject allows."""

import re

import pytest

from equipment.domain.contradictions import CONTRADICTIONS
from equipment.domain.settling import BACK, HERE_AFTER_ALL, LOST, SO, WAYS, ways
from equipment.domain.values import BathState, CrewState, ItemState, LotState
from equipment.domain.verbs import VERBS

WITH_ANA = ItemState(place="picker", store="A", picker=1, crew="RED")


def test_each_contradiction_has_its_ways() -> None:
    assert set(WAYS) == set(CONTRADICTIONS)
    for code, choices in WAYS.items():
        assert len(choices) in ((1,) if code == "not_reversible" else (2, 3)), code
        assert len({choice.name for choice in choices}) == len(choices)
        assert SO in {choice.name for choice in choices}, "what stands in the book may always be left"


@pytest.mark.parametrize(
    "choice", list(dict.fromkeys(way for each in WAYS.values() for way in each)), ids=lambda way: way.name
)
def test_a_way_is_a_sentence_and_a_verb_of_the_book(choice) -> None:  # type: ignore[no-untyped-def]
    assert set(re.findall(r"%\((\w+)\)s", choice.words)) <= {"where", "store", "crew", "left"}
    assert choice.words[0].isupper()
    assert choice.words.endswith(".")
    assert not choice.verb or choice.verb in VERBS
    assert not choice.undoes or (choice.verb == "reversed" and choice.undoes in VERBS)
    assert len(choice.name) <= 24


@pytest.mark.parametrize(
    ("place", "back", "lost", "here"),
    [
        ("picker", True, True, False),
        ("crew", True, True, False),
        ("orchard", True, True, False),
        ("missing", True, False, False),
        ("store", False, True, False),
        ("gone", False, False, True),
    ],
)
def test_only_what_can_be_is_offered(place, back, lost, here) -> None:  # type: ignore[no-untyped-def]
    state = ItemState(place=place, store="A")
    offered = {choice for code in WAYS for choice in ways(code, state)}
    assert (BACK in offered, LOST in offered, HERE_AFTER_ALL in offered) == (back, lost, here)


def test_crews_baths_and_lots_have_theirs_and_an_unknown_code_can_be_left() -> None:
    assert [way.name for way in ways("not_in_crew", CrewState())] == [SO, "struck"]
    assert [way.name for way in ways("mixed_twice", BathState())] == [SO, "struck"]
    assert [way.name for way in ways("received_twice", LotState())] == [SO, "struck"]
    assert [way.name for way in ways("more_than_left", LotState())] == ["counted", SO, "struck"]
    assert [way.name for way in ways("a code of tomorrow", WITH_ANA)] == [SO]
