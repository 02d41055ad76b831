"""Morning checks: who was there and where, what was not in order, and what was done about it."""

from typing import Any

import pytest

from equipment.models import Entry
from tests.cast import Farm
from tests.printing import at, keeps_its_word, lines, rows, sums, take_back, write

DAY = 2
GOOD = {
    "present": 31,
    "kits": "yes",
    "long_nails": 0,
    "open_wounds": 0,
    "first_aid_kits": 2,
    "water": 4,
    "toilets": 2,
    "hand_washing": 2,
    "gloves_dry": "yes",
    "temperature": 17.5,
    "humidity": 61,
    "fruit_dry": "yes",
}


@pytest.fixture
def red(ruled_farm: Farm) -> str:
    return str(ruled_farm.crews["red"].pk)


def checked(farm: Farm, clock: str = "06:30", crew: str = "red", **answers: Any) -> Entry:
    more = {name: answers.pop(name) for name in ("recorded", "note", "day") if name in answers}
    day = more.pop("day", DAY)
    return write(
        farm,
        "morning_checked",
        at(day, clock),
        by="sam",
        crew=crew,
        detail={"answers": {**GOOD, **answers}},
        **more,
    )


def arrived(farm: Farm, block: str, clock: str, crew: str = "red") -> Entry:
    return write(farm, "arrived", at(DAY, clock), by="sam", crew=crew, block=block, detail={"block": block})


def test_a_check_where_all_is_in_order(ruled_farm: Farm) -> None:
    checked(ruled_farm)
    arrived(ruled_farm, "N4", "06:45")
    arrived(ruled_farm, "S2", "12:00")
    (row,) = rows("morning-checks")
    assert (row["crew"], row["present"]) == ("Red crew | sam", "31")
    assert row["block"].startswith("N4 | ") and row["block"].endswith("06:45")
    assert (row["found"], row["done"], row["recorded"]) == ("in order", "", "0:00")
    answers = row["good"].split(" · ")
    assert len(answers) == len(GOOD) - 1
    assert "Temperature in the block: 17.5 °C" in answers and "Gloves dry: yes" in answers
    assert "How many have nails still to cut: 0" in answers


def test_what_failed_and_that_the_book_tells_nothing_more(ruled_farm: Farm) -> None:
    checked(ruled_farm, open_wounds=1, note="Blue plasters are on their way.")
    (row,) = rows("morning-checks")
    assert row["found"] == (
        "How many have an open wound not yet under a blue plaster: 1 | Blue plasters are on their way."
    )
    assert row["done"] == "nothing in the book"
    assert "open wound" not in row["good"]
    assert sums("morning-checks") == [
        "Morning checks: 1, of which 1 found something not in order; the book tells nothing of what was done about 1 "
        "of them. Written in the book late: 0."
    ]


def test_what_was_done_about_it_that_day(ruled_farm: Farm) -> None:
    before, box = ruled_farm.gear("first_aid_kit", 2, days_ago=20)
    write(ruled_farm, "handed_out", at(DAY, "05:00"), before, crew="red")
    write(
        ruled_farm,
        "waived",
        at(DAY, "05:30"),
        crew="red",
        picker="ana",
        detail={"kind": "gloves"},
        note="Shares.",
    )
    checked(ruled_farm, kits="no")

    def later() -> None:
        write(ruled_farm, "handed_out", at(DAY, "06:50"), box, crew="red")
        checked(ruled_farm, "07:10")
        write(ruled_farm, "waived", at(DAY, "07:00"), crew="blue", picker="cy", detail={"kind": "gloves"})
        checked(ruled_farm, "06:20", day=DAY - 1)

    printed, _now = keeps_its_word("morning-checks", later)
    assert len(printed) == 1
    row = rows("morning-checks")[0]
    told = row["done"].split(" | ")
    assert told[:3] == ["waived: Pair of gloves", "Ana (1)", "handed out to the crew: First-aid kit"]
    assert told[3].startswith("checked again, in order: ") and told[3].endswith("07:10") and len(told) == 4


def test_what_was_taken_back_is_neither_a_line_nor_done(ruled_farm: Farm) -> None:
    first = checked(ruled_farm, water=0)
    second = checked(ruled_farm, "07:10")
    before, now = keeps_its_word("morning-checks", lambda: take_back(ruled_farm, second))
    assert [line.entry for line in before] == [first.pk, second.pk] and [line.entry for line in now] == [
        first.pk
    ]
    assert rows("morning-checks")[0]["done"] == "nothing in the book"


def test_how_late_it_was_recorded(ruled_farm: Farm) -> None:
    checked(ruled_farm, recorded=at(DAY, "06:31"))
    checked(ruled_farm, crew="blue", recorded=at(DAY, "20:00"))
    assert [row["recorded"] for row in rows("morning-checks")] == ["0:01", "13:30 | late"]
    assert sums("morning-checks")[0].endswith("late: 1.")


def test_filters(ruled_farm: Farm, red: str) -> None:
    checked(ruled_farm)
    arrived(ruled_farm, "N4", "06:45")
    checked(ruled_farm, crew="blue")

    def found(**limits: Any) -> list[str]:
        return [row["crew"].split(" | ")[0] for row in rows("morning-checks", **limits)]

    assert found() == ["Red crew", "Blue crew"]
    assert found(crew=red) == found(block="N4") == ["Red crew"]
    assert found(block="S2") == found(store="B") == found(days=DAY - 1) == []


def test_its_questions_do_not_grow_with_its_lines(ruled_farm: Farm, django_assert_num_queries: Any) -> None:
    for clocks in (("06:30",), ("06:31", "06:32", "06:33")):
        for clock in clocks:
            for crew in ("red", "blue"):
                checked(ruled_farm, clock, crew=crew, water=0)
                arrived(ruled_farm, "N4", f"07:{clock[-2:]}", crew=crew)
        with django_assert_num_queries(7):
            assert lines("morning-checks")
    assert len(lines("morning-checks")) == 8
