"""One picker's gear card: what they were handed, what became of it, what they hold."""

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from equipment.documents.registers.words import Words
from equipment.models.registers import REGISTERS, Asked, heads_now
from tests.cast import Farm
from tests.printing import at, keeps_its_word, lines, rows, sums, take_back, write

RED = {"picker": "ana", "crew": "red"}


@pytest.fixture
def ana(farm: Farm) -> int:
    return farm.pickers["ana"].pk


def test_what_they_had_and_what_they_hold(farm: Farm, ana: int) -> None:
    bag, clippers = (
        farm.gear("bag", days_ago=20, make="Tornek", size="L")[0],
        farm.gear("clippers", days_ago=20)[0],
    )
    write(farm, "handed_out", at(5, "05:31"), bag, **RED)
    write(farm, "returned", at(5, "15:40"), bag)
    write(farm, "handed_out", at(2, "05:32"), clippers, **RED)
    first, second = rows("gear-card", picker=ana)
    assert (first["item"], first["make"], first["by"]) == (bag, "Tornek L", "rosa")
    assert first["became"].startswith("given back ") and first["became"].endswith(" 15:40")
    assert (second["item"], second["became"]) == (clippers, "holds it")
    assert sums("gear-card", picker=ana) == ["Pieces still held: 1."]


@pytest.mark.parametrize(
    ("verb", "fields", "said"),
    [
        ("handed_out", {"picker": "ben", "crew": "red"}, "passed on"),
        ("handed_out", RED, "handed out anew"),
        ("missed", {"crew": "red"}, "missing"),
        ("written_off", {"detail": {"circumstance": "lost"}}, "written off"),
        ("stowed", {"crew": "red", "block_id": "N4"}, "left in the orchard"),
    ],
)
def test_how_a_piece_leaves_their_hands(
    farm: Farm, ana: int, verb: str, fields: dict[str, Any], said: str
) -> None:
    (bag,) = farm.gear("bag", days_ago=20)
    write(farm, "handed_out", at(5), bag, **RED)
    fields = dict(fields)
    if fields.pop("block_id", None):
        fields |= {"block": "N4", "detail": {"block": "N4", "counted": 1}}
    write(farm, verb, at(4), bag, **fields)
    assert rows("gear-card", picker=ana)[0]["became"].startswith(f"{said} ")


def test_a_piece_had_for_a_part_of_the_period_or_still_held_is_on_it(farm: Farm, ana: int) -> None:
    """Of the days from the seventh to the fifth before today."""
    days = {
        "over before": (12, 10),
        "over on its first day": (12, 7),
        "all of it": (12, 2),
        "on its last day": (5, 2),
        "after it": (3, 2),
        "still held": (12, None),
        "still held, later": (3, None),
    }
    tags = dict(zip(days, farm.gear("bag", len(days), days_ago=20), strict=True))
    for name, (out, back) in days.items():
        write(farm, "handed_out", at(out), tags[name], **RED)
        if back is not None:
            write(farm, "returned", at(back, "16:00"), tags[name])
    today = timezone.localdate()
    asked = Asked(today - timedelta(days=7), today - timedelta(days=5), picker=ana)
    words, found = Words(), list(REGISTERS["gear-card"].lines(asked, heads_now()))
    words.learn(found)
    on_it = {words.say(line.cells[2]) for line in found}
    assert on_it == {tag for name, tag in tags.items() if name not in ("over before", "after it")}


def test_of_nobody_else_and_limited_to_a_kind_or_a_crew(farm: Farm, ana: int) -> None:
    (bag,), (clippers,), (bens,) = (
        farm.gear("bag", days_ago=9),
        farm.gear("clippers", days_ago=9),
        farm.gear("bag"),
    )
    write(farm, "handed_out", at(5), bag, **RED)
    write(farm, "handed_out", at(5), clippers, picker="ana", crew="blue")
    write(farm, "handed_out", at(5), bens, picker="ben", crew="red")
    assert len(lines("gear-card", picker=ana)) == 2
    assert len(lines("gear-card", picker=ana, kind="bag")) == 1
    assert len(lines("gear-card", picker=ana, crew=farm.crews["blue"].pk)) == 1
    assert "picker" in REGISTERS["gear-card"].needs


def test_it_is_acknowledged_and_proves_no_debt() -> None:
    register = REGISTERS["gear-card"]
    said = " ".join(register.notes)
    assert "I have received these pieces whole and working, and was shown how to use them." in said
    assert "not proof of a debt" in said and "no promise to pay" in said
    assert register.signatures[0] == "Picker"


def test_the_same_heads_give_the_same_lines(farm: Farm, ana: int) -> None:
    bag, other = farm.gear("bag", 2, days_ago=20)
    out = write(farm, "handed_out", at(5), bag, **RED)
    gone = write(farm, "handed_out", at(5), other, **RED)

    def later() -> None:
        write(farm, "returned", at(4), bag)
        take_back(farm, gone)

    before, now = keeps_its_word("gear-card", later, picker=ana)
    assert [line.entry for line in before] == [out.pk, gone.pk]
    assert [row["became"][:10] for row in rows("gear-card", picker=ana)] == ["given back"]
    assert [line.entry for line in now] == [out.pk]


def test_a_return_that_was_taken_back_leaves_it_in_their_hands(farm: Farm, ana: int) -> None:
    (bag,) = farm.gear("bag", days_ago=20)
    write(farm, "handed_out", at(5), bag, **RED)
    take_back(farm, write(farm, "returned", at(4), bag))
    assert rows("gear-card", picker=ana)[0]["became"] == "holds it"


def test_its_questions_do_not_grow_with_its_lines(
    farm: Farm, ana: int, django_assert_max_num_queries: Any
) -> None:
    for tag in farm.gear("bag", 12, days_ago=20):
        write(farm, "handed_out", at(5), tag, **RED)
        write(farm, "returned", at(4), tag)
    with django_assert_max_num_queries(5):
        assert len(lines("gear-card", picker=ana)) == 12
