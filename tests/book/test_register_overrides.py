"""Overrides of the gate, with who, why and by which rules; and kit lines that were waived."""

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from equipment.actions.writing import Pen
from equipment.models import Entry, ItemState, rules
from tests.cast import Farm
from tests.printing import at, keeps_its_word, lines, rows, sums, take_back, write

WHY = "None other left for a left hand."


def let_go(farm: Farm, tag: str, picker: str = "ana", crew: str = "red", note: str = WHY) -> Entry:
    """The officer hands out what is not sterile, and the gate lets it pass under `hold`."""
    pen = Pen(farm.users["olga"], "A", timezone.now())
    item = ItemState.objects.get(tag=tag).item_id
    who = {"picker": farm.pickers[picker].pk, "crew": farm.crews[crew].pk}
    draft = pen.draft("handed_out", item=item, detail={"overridden": ["cleaning_due"]}, note=note, **who)
    (outcome,) = pen.record([draft]).outcomes
    assert outcome.recorded, outcome.codes
    return Entry.objects.get(pk=draft.id)


@pytest.fixture
def clippers(ruled_farm: Farm) -> list[str]:
    """Never dipped since they were bought."""
    return ruled_farm.gear("clippers", 2, days_ago=20)


def test_what_was_let_go_to_whom_by_whom_and_why(ruled_farm: Farm, clippers: list[str]) -> None:
    let_go(ruled_farm, clippers[0])
    (row,) = rows("overrides")
    assert row["what"] == "let go all the same"
    assert row["item"] == f"Clippers | {clippers[0]}"
    assert row["to"] == "Ana (1) | Red crew"
    assert row["reasons"] == "it must be cleaned first"
    assert (row["note"], row["by"], row["rules"]) == (WHY, "olga", f"{rules.version()}")


def test_a_waived_line_stands_beside_it_with_its_why(ruled_farm: Farm, clippers: list[str]) -> None:
    write(
        ruled_farm,
        "waived",
        at(2),
        crew="red",
        picker="ben",
        detail={"kind": "gloves"},
        note="Shares with Ana.",
    )
    let_go(ruled_farm, clippers[0])
    waived, _let_go = rows("overrides")
    assert (waived["what"], waived["to"], waived["reasons"]) == ("does without", "Ben (2) | Red crew", "")
    assert (waived["note"], waived["rules"]) == ("Shares with Ana.", "")
    assert sums("overrides") == ["Pieces let go: 1.", "Kit lines waived: 1.", "Without a written why: 0."]


def test_a_piece_in_place_of_a_kit_line(ruled_farm: Farm) -> None:
    (one,) = ruled_farm.gear("glove", days_ago=20, hand="left")
    write(ruled_farm, "handed_out", at(2), one, picker="ana", crew="red", detail={"waived": "gloves"})
    (row,) = rows("overrides")
    assert row["what"].startswith("goes in place of | ")
    assert sums("overrides")[-1] == "Without a written why: 1."


def test_a_plain_hand_out_is_none(ruled_farm: Farm) -> None:
    (bag,) = ruled_farm.gear("bag", days_ago=20)
    write(ruled_farm, "handed_out", at(2), bag, picker="ana", crew="red")
    assert not lines("overrides")


def test_filters(ruled_farm: Farm, clippers: list[str]) -> None:
    let_go(ruled_farm, clippers[0])
    ben = {"picker": "ben", "crew": "red", "detail": {"kind": "gloves"}}
    write(ruled_farm, "waived", at(2), note="Shares.", store="B", **ben)
    assert len(lines("overrides")) == 2
    assert [line.cells[1].key for line in lines("overrides", kind="gloves")] == ["does without"]
    assert [line.cells[1].key for line in lines("overrides", kind="clippers")] == ["let go all the same"]
    assert len(lines("overrides", picker=ruled_farm.pickers["ben"].pk)) == 1
    assert len(lines("overrides", store="B")) == len(lines("overrides", days=0)) == 1
    assert not lines("overrides", crew=ruled_farm.crews["blue"].pk)


def test_the_same_heads_give_the_same_lines(ruled_farm: Farm, clippers: list[str]) -> None:
    entry = let_go(ruled_farm, clippers[0])

    def later() -> None:
        let_go(ruled_farm, clippers[1], "ben")
        take_back(ruled_farm, entry, timezone.now() + timedelta(seconds=1))

    before, now = keeps_its_word("overrides", later)
    assert [line.entry for line in before] == [entry.pk]
    assert [line.cells[3][0].key for line in now] == [ruled_farm.pickers["ben"].pk]


def test_its_questions_do_not_grow_with_its_lines(
    ruled_farm: Farm, django_assert_max_num_queries: Any
) -> None:
    for tag in ruled_farm.gear("clippers", 8, days_ago=20):
        let_go(ruled_farm, tag)
    with django_assert_max_num_queries(5):
        assert len(lines("overrides")) == 8
