"""May it go out? The gate and the rule of custody, as a table of an item, who asks, and the verdict."""

from datetime import UTC, datetime
from typing import Any

import pytest

from equipment.domain.custody import against_handing_out, holder
from equipment.domain.gate import WORDS, To, fits, verdict
from equipment.domain.values import ItemState

NOW = datetime(2026, 6, 1, 4, 0, tzinfo=UTC)
AT_HOME = ItemState(place="store", store="A")
OUT = ItemState(place="picker", store="A", picker=1, crew="RED")
WITH_CREW = ItemState(place="crew", store="A", crew="RED")
IN_ORCHARD = ItemState(place="orchard", store="A", crew="RED", block="N4")


@pytest.mark.parametrize(
    ("state", "to", "codes"),
    [
        (AT_HOME, To("A", picker=2), ()),
        (AT_HOME, To("A", crew="RED"), ()),
        (AT_HOME, To("B", picker=2), ("other_store",)),
        (AT_HOME, To(None), ()),  # asked of no store: of its own
        (OUT, To("A", picker=2), ("already_out",)),
        (OUT, To("A", picker=1), ("already_out",)),  # scanned twice
        (OUT, To("A", picker=2, from_holder="picker:1"), ()),
        (OUT, To("B", picker=2, from_holder="picker:1"), ()),  # a change of hands knows no store
        (OUT, To("A", picker=2, from_holder="picker:3"), ("already_out",)),
        (OUT, To("A", picker=2, from_holder="crew:RED"), ("already_out",)),  # Ana has it, not her crew
        (WITH_CREW, To("A", picker=2), ("already_out",)),
        (WITH_CREW, To("A", picker=2, from_holder="crew:RED"), ()),
        (IN_ORCHARD, To("A", picker=2, from_holder="crew:RED"), ()),
        (ItemState(place="bench", store="A"), To("A"), ()),
        (ItemState(place="missing", store="A", picker=1), To("A"), ("missing",)),
        (ItemState(place="missing", store="A", picker=1), To("A", from_holder="picker:1"), ("missing",)),
        (ItemState(place="gone", store="A"), To("A"), ("written_off",)),
        (ItemState(), To("A"), ("written_off",)),
    ],
)
def test_the_verdict_on_custody(state: ItemState, to: To, codes: tuple[str, ...]) -> None:
    found = verdict(state, {}, NOW, to)
    assert (tuple(reason.code for reason in found.reasons), found.fit) == (codes, not codes)
    assert found.blocking == found.reasons
    assert against_handing_out(state, to.store or state.store or "", to.from_holder) == codes


@pytest.mark.parametrize(
    ("traits", "wants", "good"),
    [
        ({"size": "L", "hand": ""}, {"size": "L", "hand": ""}, True),
        ({"size": "L", "hand": ""}, {"size": "M", "hand": ""}, False),
        ({"size": "", "hand": "left"}, {"size": "M", "hand": "right"}, False),
        ({"size": "", "hand": "left"}, {"size": "M", "hand": "left"}, True),
        ({"size": "L", "hand": ""}, {"size": "", "hand": "left"}, True),  # neither says both
        ({}, {"size": "M"}, True),
        ({"size": "L"}, {}, True),
    ],
)
def test_a_wrong_size_is_said_and_does_not_hold_anyone_back(traits: Any, wants: Any, good: bool) -> None:
    assert fits(traits, wants) == good
    found = verdict(AT_HOME, {}, NOW, To("A", wants=wants), traits)
    assert (found.fit, [reason.code for reason in found.reasons]) == (True, [] if good else ["wrong_size"])
    assert found.blocking == ()


def test_what_blocks_and_what_does_not_are_both_said() -> None:
    found = verdict(OUT, {}, NOW, To("A", picker=2, wants={"size": "M"}), {"size": "L"})
    assert [reason.code for reason in found.reasons] == ["already_out", "wrong_size"]
    assert [reason.code for reason in found.blocking] == ["already_out"]
    assert all(reason.words == WORDS[reason.code] for reason in found.reasons)


@pytest.mark.parametrize(
    ("picker", "crew", "word"),
    [(1, "RED", "picker:1"), (0, None, "picker:0"), (None, "RED", "crew:RED"), (None, None, None)],
)
def test_one_word_for_who_has_it(picker: int | None, crew: str | None, word: str | None) -> None:
    assert holder(picker, crew) == word
