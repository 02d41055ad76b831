"""Handout by day and crew: to pickers and to crews, in sets, passed on, waived, overridden, and what came back."""

import re
from typing import Any

import pytest
from django.db import connection

from equipment.actions.pack_set import pack
from equipment.actions.writing import Pen
from equipment.domain import codes
from equipment.models import Entry, GearSet, ItemState
from equipment.models.registers import handout, heads_now
from equipment.models.registers.reading import at_heads
from tests.cast import Farm
from tests.printing import at, keeps_its_word, lines, rows, sums, take_back, write

DAY = 2


@pytest.fixture
def bags(farm: Farm) -> list[str]:
    return farm.gear("bag", 3, days_ago=20)


def out(
    farm: Farm, tag: str, clock: str = "05:30", picker: str = "ana", crew: str = "red", **more: Any
) -> Entry:
    who = {"picker": picker} if picker else {}
    return write(farm, "handed_out", at(more.pop("day", DAY), clock), tag, crew=crew, **who, **more)


def tags_of(row: dict[str, str]) -> list[str]:
    """The labels that a line names; "waived" for a line of a kit."""
    return re.findall(r"[A-Z]{2}[0-9]{4}[0-9A-Z]|waived", row["pieces"])


def test_what_a_picker_was_handed_and_when_it_came_back(farm: Farm) -> None:
    (glove,) = farm.gear("glove", days_ago=20, size="M", hand="left")
    out(farm, glove)
    write(farm, "returned", at(DAY, "16:00"), glove, crew="red")
    (row,) = rows("handout")
    assert (row["crew"], row["picker"], row["by"]) == ("Red crew", "Ana (1)", "rosa")
    assert (row["pieces"], row["count"]) == (f"Single glove M, left {glove}", "1")
    assert row["at"].endswith("05:30") and row["back"].endswith("16:00")


def test_a_later_return_is_not_on_paper_printed_before(farm: Farm, bags: list[str]) -> None:
    out(farm, bags[0])

    def later() -> None:
        write(farm, "returned", at(DAY, "16:00"), bags[0], crew="red")
        out(farm, bags[1], "06:00")

    before, now = keeps_its_word("handout", later)
    assert [line.cells[6] for line in before] == [None]
    assert [line.cells[6] for line in now] == [at(DAY, "16:00"), None]


def test_what_went_out_and_came_back_together_is_one_line_to_sign(farm: Farm, bags: list[str]) -> None:
    clippers, late = farm.gear("clippers", 2, days_ago=20)
    entries = [out(farm, tag, f"05:3{n}") for n, tag in enumerate((clippers, *bags))]
    other = out(farm, late, "09:00")
    (morning, after) = rows("handout")
    assert morning["pieces"] == f"Picking bag {', '.join(bags)}; Clippers {clippers}"
    assert (morning["count"], morning["back"]) == ("4", "")
    assert after["pieces"] == f"Clippers {late}"
    (together, alone) = lines("handout")
    assert together.entries == tuple(entry.pk for entry in entries) and alone.entries == (other.pk,)
    for minute, tag in enumerate(bags):
        write(farm, "returned", at(DAY, f"15:5{minute}"), tag)
    still, back, _after = rows("handout")
    assert (still["pieces"], still["back"]) == (f"Clippers {clippers}", "")
    assert back["count"] == "3" and back["back"].endswith("15:52")
    write(farm, "returned", at(DAY, "16:30"), clippers)
    assert [row["back"][-5:] for row in rows("handout")] == ["16:30", "15:52", ""]


def test_what_the_crew_shares_stands_there_too(farm: Farm) -> None:
    (ladder,) = farm.gear("ladder", days_ago=20, size="3 m")
    out(farm, ladder, picker="")
    (row,) = rows("handout")
    assert (row["picker"], row["pieces"]) == ("for the crew", f"Ladder 3 m {ladder}")


def test_days_then_crews_then_times(farm: Farm) -> None:
    tags = farm.gear("bag", 5, days_ago=20)
    out(farm, tags[0], "05:10", picker="cy", crew="blue")
    out(farm, tags[1], "05:20")
    out(farm, tags[2], "05:30", picker="cy", crew="blue")
    out(farm, tags[3], "05:40", picker="ben")
    out(farm, tags[4], "05:00", picker="cy", crew="blue", day=1)
    assert [tags_of(row) for row in rows("handout")] == [
        [tags[1]], [tags[3]], [tags[0]], [tags[2]], [tags[4]],
    ]  # fmt: skip


def test_a_day_of_very_many_is_put_in_order_in_parts(
    farm: Farm, monkeypatch: pytest.MonkeyPatch, bags: list[str]
) -> None:
    monkeypatch.setattr(handout, "SORTED_AT_ONCE", 2)
    out(farm, bags[0], "05:10", picker="cy", crew="blue")
    out(farm, bags[1], "05:20")
    out(farm, bags[2], "05:30", picker="ben")
    assert [tags_of(row) for row in rows("handout")] == [[bags[1]], [bags[0]], [bags[2]]]


def test_what_was_taken_back_is_no_line(farm: Farm, bags: list[str]) -> None:
    entry = out(farm, bags[0])
    before, now = keeps_its_word("handout", lambda: take_back(farm, entry))
    assert (len(before), now) == (1, [])


def test_a_piece_of_a_set_says_so_until_it_is_packed_anew(farm: Farm, bags: list[str]) -> None:
    set_code = GearSet.objects.create(code=codes.make(codes.SET, 1)).pk
    assert len(pack(Pen(farm.users["rosa"], "A", at(DAY, "04:00")), set_code, bags[:2]).tags) == 2
    for tag in bags:
        out(farm, tag)
    write(farm, "returned", at(DAY, "15:00"), bags[0])
    out(farm, bags[0], "15:30", picker="ben")
    told = {(row["at"][-5:], row["pieces"]) for row in rows("handout")}
    assert told == {
        ("05:30", f"Picking bag {bags[0]}; set {set_code}"),
        ("05:30", f"Picking bag {bags[1]}; set {set_code}"),
        ("05:30", f"Picking bag {bags[2]}"),
        ("15:30", f"Picking bag {bags[0]}"),
    }


def test_passed_on_missed_and_written_off(farm: Farm, bags: list[str]) -> None:
    for tag in bags:
        out(farm, tag)
    giver = f"picker:{farm.pickers['ana'].pk}"
    out(farm, bags[0], "09:00", picker="ben", detail={"from": giver})
    write(farm, "missed", at(DAY, "17:00"), bags[1])
    write(farm, "written_off", at(DAY, "18:00"), bags[2], detail={"circumstance": "worn_out"})
    first, second, third, passed = rows("handout")
    assert first["back"].endswith("09:00 | passed on") and passed["pieces"].endswith(
        " | passed on by Ana (1)"
    )
    assert second["back"].endswith("17:00 | missed") and third["back"].endswith("18:00 | written off")
    assert sums("handout") == [
        "Pieces handed out: 4. Of these:", "still out: 1.", "passed on: 1.", "missed: 1.", "written off: 1.",
        "Handed out by override: 0. Lines of a kit waived: 0.",
    ]  # fmt: skip


def test_a_return_that_was_taken_back_is_none(farm: Farm, bags: list[str]) -> None:
    out(farm, bags[0])
    back = write(farm, "returned", at(DAY, "16:00"), bags[0])
    take_back(farm, back)
    assert [row["back"] for row in rows("handout")] == [""]


def test_a_kit_line_that_was_waived(farm: Farm, bags: list[str]) -> None:
    out(farm, bags[0])
    write(
        farm,
        "waived",
        at(DAY, "05:31"),
        crew="red",
        picker="ana",
        detail={"kind": "gloves"},
        note="Shares with Ben.",
    )
    _bag, waived = rows("handout")
    assert (waived["picker"], waived["count"]) == ("Ana (1)", "")
    assert waived["pieces"] == "Pair of gloves, waived: does without | Shares with Ben."
    assert sums("handout")[-1] == "Handed out by override: 0. Lines of a kit waived: 1."


def test_overridden_and_what_the_gate_said(ruled_farm: Farm) -> None:
    one, other = ruled_farm.gear("clippers", 2, days_ago=20)
    pen = Pen(ruled_farm.users["olga"], "A", at(DAY, "05:30"))
    who = {"picker": ruled_farm.pickers["ana"].pk, "crew": ruled_farm.crews["red"].pk}
    item = ItemState.objects.get(tag=one).item_id
    how = {"detail": {"overridden": ["cleaning_due"]}, "note": "No other left."}
    assert pen.record([pen.draft("handed_out", item=item, **how, **who)]).outcomes[0].recorded
    out(ruled_farm, other, "05:31")
    overridden, noted = rows("handout")
    assert " | went out by override: it must be cleaned first" in overridden["pieces"]
    assert overridden["pieces"].endswith("No other left.")
    assert " | said at the gate: it must be cleaned first" in noted["pieces"]
    assert sums("handout")[-1].startswith("Handed out by override: 1.")


def test_filters(farm: Farm, bags: list[str]) -> None:
    (ladder,) = farm.gear("ladder", days_ago=20)
    out(farm, bags[0])
    out(farm, ladder, picker="", store="B")
    out(farm, bags[1], picker="cy", crew="blue")
    write(farm, "waived", at(DAY, "05:31"), crew="red", picker="ana", detail={"kind": "gloves"})

    def found(**limits: Any) -> list[str]:
        return [each for row in rows("handout", **limits) for each in tags_of(row)]

    assert found(crew=farm.crews["blue"].pk) == [bags[1]]
    assert found(kind="bag") == [bags[0], bags[1]]
    assert found(kind="gloves") == ["waived"]
    assert found(store="B") == found(kind="ladder") == found(tag=ladder) == [ladder]
    assert found(picker=farm.pickers["ana"].pk) == [bags[0], "waived"]
    assert found(days=DAY - 1) == []
    assert lines("handout", heads={}) == []


def test_its_questions_do_not_grow_with_its_lines(farm: Farm, django_assert_num_queries: Any) -> None:
    heads = heads_now()
    for count in (1, 9):
        for tag in farm.gear("bag", count, days_ago=20):
            out(farm, tag)
            write(farm, "returned", at(DAY, "16:00"), tag)
        heads = heads_now()
        with django_assert_num_queries(7):
            assert lines("handout", heads)
    (line,) = lines("handout", heads)
    assert len(line.entries) == 10


def test_reading_begins_at_the_verb_not_at_the_positions(farm: Farm, bags: list[str]) -> None:
    """Nearly all entries stand before the heads: who begins there reads the whole book for each page."""
    out(farm, bags[0])
    write(farm, "moved", at(DAY, "04:00"), bags[1], store="B", detail={"to": "A"})
    assert len(heads_now()) == 2
    plan = at_heads(heads_now()).filter(verb="reversed").explain()
    assert "sqlite_autoindex" not in plan and "positions_of_a_store" not in plan
    assert connection.vendor != "sqlite" or "lines_of_a_register" in plan
