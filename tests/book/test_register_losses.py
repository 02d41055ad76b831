"""What was missed or written off: circumstance, who had it last, what they say, price; and no proof of a debt."""

from typing import Any

import pytest

from equipment.models import Note
from equipment.models.registers import REGISTERS
from tests.cast import Farm
from tests.printing import at, keeps_its_word, lines, rows, sums, take_back, write


@pytest.fixture
def bag(farm: Farm) -> str:
    """A bag that Ana has."""
    (tag,) = farm.gear("bag", days_ago=20, price="310.50")
    write(farm, "handed_out", at(9, "05:31"), tag, picker="ana", crew="red")
    return tag


def gone(farm: Farm, tag: str, circumstance: str, days_ago: int = 3, **more: Any) -> Any:
    detail = {"circumstance": circumstance, **more.pop("detail", {})}
    return write(farm, "written_off", at(days_ago), tag, detail=detail, **more)


def test_a_theft_with_its_case_number_who_had_it_and_what_they_say(farm: Farm, bag: str) -> None:
    write(farm, "heard", at(4), bag, picker="ana", crew="red", by="sam", note="The trailer was open.")
    gone(farm, bag, "stolen", detail={"case": "CAS 12/3"}, note="Shed broken open.", by="frank")
    (row,) = rows("losses")
    assert row["at"].endswith(" 06:00 | frank")
    assert row["circumstance"] == "stolen | case CAS 12/3"
    assert row["had"].startswith("Ana (1) | Red crew | ") and row["had"].endswith(" 05:31")
    assert row["note"] == "Shed broken open."
    assert row["side"].endswith(" | Ana (1) | The trailer was open.")
    assert (row["became"], row["price"]) == ("", "310.50")


def test_missing_found_again_and_missing_once_more(farm: Farm, bag: str) -> None:
    write(farm, "missed", at(8), bag, crew="red")
    assert rows("losses")[0]["became"] == "still missing"
    write(farm, "found", at(7, "05:05"), bag)
    assert rows("losses")[0]["became"].startswith("found again | ")
    write(farm, "handed_out", at(6), bag, picker="ben", crew="red")
    write(farm, "missed", at(5), bag, crew="red")
    first, second = rows("losses")
    assert first["became"].endswith(" 05:05") and second["became"] == "still missing"
    assert first["had"].startswith("Ana") and second["had"].startswith("Ben")


def test_missing_and_then_written_off_is_counted_once(farm: Farm, bag: str) -> None:
    write(farm, "missed", at(8), bag, crew="red")
    assert sums("losses") == ["missing: 1. Prices together: 310.50."]
    gone(farm, bag, "lost")
    assert [row["became"].partition(" | ")[0] for row in rows("losses")] == ["written off since", ""]
    assert sums("losses") == [
        "Found again, or written off since, and in no sum below: 1.",
        "lost: 1. Prices together: 310.50.",
    ]


def test_what_they_cost_is_summed_by_circumstance(farm: Farm) -> None:
    worn = farm.gear("gloves", 2, days_ago=20, price="40")
    (unpriced,) = farm.gear("bag", days_ago=20)
    for tag in worn:
        gone(farm, tag, "worn_out")
    gone(farm, unpriced, "disputed")
    assert sums("losses") == [
        "disputed: 1. Prices together: 0.",
        "worn out: 2. Prices together: 80.00.",
        "No price is known of 1 of them.",
    ]


def test_who_had_given_it_back_is_said_to_have(farm: Farm, bag: str) -> None:
    write(farm, "returned", at(9, "15:40"), bag)
    gone(farm, bag, "worn_out")
    assert rows("losses")[0]["had"].endswith(
        " | given back since | " + rows("losses")[0]["had"].split(" | ")[-1]
    )
    assert rows("losses")[0]["had"].endswith(" 15:40")


def test_what_was_said_of_an_earlier_time_is_not_brought_up_again(farm: Farm, bag: str) -> None:
    write(farm, "heard", at(8), bag, picker="ana", note="I gave it back.")
    write(farm, "returned", at(8, "16:00"), bag)
    write(farm, "handed_out", at(7), bag, picker="ben", crew="red")
    gone(farm, bag, "lost")
    write(farm, "heard", at(2), bag, picker="ben", note="It hung on the gate.")
    (row,) = rows("losses")
    assert "It hung on the gate." in row["side"] and "I gave it back." not in row["side"]


def test_erased_words_say_so_and_the_lines_stay(farm: Farm, bag: str) -> None:
    write(farm, "heard", at(4), bag, picker="ana", note="Sizwe took it.")
    gone(farm, bag, "disputed", note="two stories")

    def later() -> None:
        Note.objects.update(text="", salt="", erased_at=at(0, "00:00"))

    keeps_its_word("losses", later)
    (row,) = rows("losses")
    assert row["note"] == "erased" and row["side"].endswith(" | erased")


def test_it_is_headed_that_it_proves_no_debt_and_that_local_law_rules() -> None:
    register = REGISTERS["losses"]
    assert "not proof of a debt" in register.title
    # South Africa's OHS Act 85 of 1993, s. 23, forbids it for safety gear (from memory); it is not so everywhere.
    assert any("forbids charging workers for safety gear" in note for note in register.notes)
    assert any("Local law rules." in note for note in register.notes)
    said = " ".join(
        (register.title, register.about, *register.notes, *(column.head for column in register.columns))
    )
    assert not {"owes", "deduct", "deduction", "deducted", "pays"} & set(said.lower().split())


def test_filters_and_the_crew_of_a_line_that_names_none(farm: Farm, bag: str) -> None:
    (ladder,) = farm.gear("ladder", store="B", days_ago=20)
    write(farm, "handed_out", at(9), ladder, crew="blue", store="B")
    gone(farm, bag, "lost")
    gone(farm, ladder, "broken", store="B")
    assert len(lines("losses")) == 2 and not lines("losses", days=1)
    for limits in ({"store": "B"}, {"kind": "ladder"}, {"tag": ladder}, {"crew": farm.crews["blue"].pk}):
        (line,) = lines("losses", **limits)
        assert line.cells[1][0].key == "ladder", limits
    (line,) = lines("losses", crew=farm.crews["red"].pk)
    assert line.cells[1][0].key == "bag"


def test_the_same_heads_give_the_same_lines(farm: Farm, bag: str) -> None:
    missed = write(farm, "missed", at(8), bag, crew="red")
    heard = write(farm, "heard", at(7), bag, picker="ana", note="I looked for it.")

    def later() -> None:
        write(farm, "heard", at(6), bag, picker="ana", note="It was the wind.")
        take_back(farm, heard)
        take_back(farm, missed)
        gone(farm, bag, "lost")

    before, now = keeps_its_word("losses", later)
    assert [line.entry for line in before] == [missed.pk]
    (line,) = now
    assert line.entry != missed.pk
    assert rows("losses")[0]["side"].endswith("It was the wind.")


def test_its_questions_do_not_grow_with_its_lines(farm: Farm, django_assert_max_num_queries: Any) -> None:
    for tag in farm.gear("gloves", 12, days_ago=20):
        write(farm, "handed_out", at(9), tag, picker="ana", crew="red")
        gone(farm, tag, "worn_out")
    with django_assert_max_num_queries(6):
        assert len(lines("losses")) == 12
