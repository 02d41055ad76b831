"""Faults and corrective action: found, set aside, mended, passed; what is open says so."""

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from equipment.actions.inspect_item import all_good
from equipment.actions.set_rule import set_rule
from equipment.models.registers import REGISTERS, Asked, heads_now
from tests.cast import Farm
from tests.printing import at, keeps_its_word, lines, rows, sums, take_back, write

MEND = {"fault": "bag_hole", "method": "sewn with thread", "minutes": 12, "parts": "thread"}
HOLE, CRACK = {"fault": "bag_hole"}, {"fault": "ladder_cracked_stile"}


@pytest.fixture
def bag(ruled_farm: Farm) -> str:
    return ruled_farm.gear("bag", days_ago=20)[0]


def test_found_mended_and_passed_by_the_mender(ruled_farm: Farm, bag: str) -> None:
    write(ruled_farm, "fault_found", at(5, "07:10"), bag, detail=HOLE, note="by the left strap", crew="red")
    write(ruled_farm, "mended", at(3, "16:00"), bag, by="mo", detail=MEND)
    (row,) = rows("faults")
    day = timezone.localtime(at(5)).strftime("%-d %b %Y")
    assert row["found"] == f"{day} 07:10 | rosa | Red crew"
    assert row["item"] == f"Picking bag | {bag}"
    assert row["fault"].endswith(" | by the left strap")
    assert row["mended"].endswith("16:00 | mo | in the shed")
    assert (row["how"], row["minutes"]) == ("sewn with thread | thread", "12")
    assert (row["passed"], row["days"], row["state"]) == ("by the mender", "2", "done")


def test_what_is_still_open_says_so_and_for_how_long(ruled_farm: Farm, bag: str) -> None:
    write(ruled_farm, "fault_found", at(5), bag, detail=HOLE)
    write(ruled_farm, "seen", at(1), ruled_farm.gear("bag", days_ago=1)[0], act=None)
    (row,) = rows("faults")
    assert (row["mended"], row["passed"], row["state"]) == ("", "", "still open")
    assert row["days"] == str((timezone.localdate() - timezone.localdate(at(5))).days - 1)


def test_a_fault_of_the_period_whose_mend_came_later_shows_its_mend(ruled_farm: Farm, bag: str) -> None:
    write(ruled_farm, "fault_found", at(9), bag, detail=HOLE)
    write(ruled_farm, "mended", at(2), bag, by="mo", detail=MEND)
    first = timezone.localdate(at(10))
    (line,) = REGISTERS["faults"].lines(Asked(first, first + timedelta(days=3)), heads_now())
    assert line.cells[6] == ("sewn with thread", "thread")
    assert not list(REGISTERS["faults"].lines(Asked(first, first), heads_now()))


def test_what_was_open_when_the_days_began_is_carried_over(ruled_farm: Farm) -> None:
    mended, still, meanwhile, later = ruled_farm.gear("bag", 4, days_ago=20)
    for tag in (mended, still, meanwhile):
        write(ruled_farm, "fault_found", at(9), tag, detail=HOLE)
    write(ruled_farm, "fault_found", at(8), still, detail=HOLE, by="sam")
    write(ruled_farm, "mended", at(8), mended, by="mo", detail=MEND)
    write(ruled_farm, "mended", at(4), meanwhile, by="mo", detail=MEND)
    write(ruled_farm, "fault_found", at(3), later, detail=HOLE)
    found = rows("faults", days=5)
    assert [row["item"].split(" | ")[1] for row in found] == [still, meanwhile, later]
    assert [row["found"].startswith("carried over | ") for row in found] == [True, True, False]
    assert [row["state"] for row in found] == ["still open", "done", "still open"]
    assert "Found in these days: 1. Carried over from before: 2." in sums("faults", days=5)
    assert [row["found"].startswith("carried over") for row in rows("faults")] == [False] * 5


def test_what_is_cleaned_and_looked_at_every_day_is_not_read_to_find_what_was_open(
    ruled_farm: Farm, bag: str
) -> None:
    """It ends no fault: what was open before stays so, whatever else the piece went through."""
    write(ruled_farm, "fault_found", at(9), bag, detail=HOLE)
    answers = {"checklist": "bag_weekly", "answers": all_good("bag_weekly")}
    write(ruled_farm, "inspected", at(8), bag, by="olga", detail=answers)
    write(
        ruled_farm,
        "cleaned",
        at(7),
        bag,
        detail={"method": "sterilise", "recipe": "clippers_bleach", "seconds": 900},
    )
    assert [row["state"] for row in rows("faults", days=5)] == ["still open"]


def test_a_ladder_waits_for_a_second_look_and_then_was_passed_by_another(ruled_farm: Farm) -> None:
    (ladder,) = ruled_farm.gear("ladder", days_ago=20)
    write(ruled_farm, "fault_found", at(5), ladder, detail=CRACK)
    write(
        ruled_farm, "mended", at(4), ladder, by="mo", detail={**CRACK, "method": "new stile", "minutes": 60}
    )
    (row,) = rows("faults")
    assert (row["passed"], row["state"]) == ("waits for a second look", "still open")
    write(ruled_farm, "released", at(3), ladder, by="mo", detail=CRACK)
    assert rows("faults")[0]["state"] == "still open"
    write(ruled_farm, "released", at(2), ladder, by="olga", detail=CRACK)
    (row,) = rows("faults")
    assert row["passed"].endswith("| olga | by a second look")
    assert (row["state"], row["days"]) == ("done", "3")


def test_only_the_officer_passes_what_hurt_somebody(ruled_farm: Farm, bag: str) -> None:
    hurt = {"fault": "hurt_someone"}
    write(ruled_farm, "fault_found", at(5), bag, detail=hurt)
    write(ruled_farm, "mended", at(4), bag, by="mo", detail={**hurt, "method": "new buckle", "minutes": 5})
    assert rows("faults")[0]["passed"] == "waits for the safety officer"
    write(ruled_farm, "released", at(4, "08:00"), bag, by="olga", detail=hurt)
    assert rows("faults")[0]["passed"].endswith("| olga | by the safety officer")


def test_found_again_before_anybody_passed_the_mend(ruled_farm: Farm) -> None:
    (ladder,) = ruled_farm.gear("ladder", days_ago=20)
    write(ruled_farm, "fault_found", at(5), ladder, detail=CRACK)
    write(ruled_farm, "mended", at(4), ladder, by="mo", detail={**CRACK, "method": "glued", "minutes": 9})
    write(ruled_farm, "fault_found", at(3), ladder, detail=CRACK)
    first, second = rows("faults")
    assert (first["state"], first["how"], second["state"], second["how"]) == (
        "found again",
        "glued",
        "still open",
        "",
    )
    assert "Found again before the mend was passed: 1." in sums("faults")


def test_found_twice_while_it_is_open_is_one_fault_with_one_mend(ruled_farm: Farm, bag: str) -> None:
    write(ruled_farm, "fault_found", at(6), bag, detail=HOLE)
    write(ruled_farm, "fault_found", at(5), bag, detail=HOLE, by="sam")
    write(ruled_farm, "mended", at(4), bag, by="mo", detail=MEND)
    first, second = rows("faults")
    assert "known since" in second["fault"] and "known since" not in first["fault"]
    assert first["mended"] == second["mended"] != ""


def test_a_failed_inspection_finds_the_faults_of_its_points(ruled_farm: Farm) -> None:
    (bag,) = ruled_farm.gear("bag", days_ago=20)
    answers = {**all_good("bag_weekly")}
    entry = write(
        ruled_farm, "inspected", at(5), bag, by="olga", detail={"checklist": "bag_weekly", "answers": answers}
    )
    assert "failed" not in entry.detail and not rows("faults")
    wrong = {point: ("no" if value == "yes" else value) for point, value in answers.items()}
    entry = write(ruled_farm, "inspected", at(4), bag, detail={"checklist": "bag_weekly", "answers": wrong})
    opened = sorted({fault for fault in entry.detail["failed"].values() if fault})
    found = lines("faults")
    assert len(opened) > 1
    assert [line.cells[2][0].key for line in found] == opened
    assert {line.entry for line in found} == {entry.pk}


def test_dirt_is_washed_off_and_that_is_its_mending(ruled_farm: Farm) -> None:
    (bag,) = ruled_farm.gear("bag", days_ago=20)
    write(ruled_farm, "fault_found", at(5, "07:00"), bag, detail={"fault": "dirty"})
    write(ruled_farm, "cleaned", at(5, "08:00"), bag, detail={"method": "dry"})
    assert rows("faults")[0]["state"] == "still open"
    write(ruled_farm, "cleaned", at(5, "16:00"), bag, detail={"method": "wash", "recipe": "wash_soap"})
    (row,) = rows("faults")
    assert row["how"].startswith("Washed | ") and (row["state"], row["minutes"]) == ("done", "")


def test_set_aside_is_when_it_came_back_from_use(ruled_farm: Farm) -> None:
    (ladder,) = ruled_farm.gear("ladder", days_ago=20)
    write(ruled_farm, "handed_out", at(5, "05:30"), ladder, crew="red")
    write(ruled_farm, "fault_found", at(5, "09:00"), ladder, by="sam", detail=CRACK)
    assert rows("faults")[0]["aside"] == "not back yet"
    write(ruled_farm, "returned", at(5, "15:45"), ladder)
    assert rows("faults")[0]["aside"].endswith(" 15:45")
    write(ruled_farm, "fault_found", at(4, "10:00"), ladder, detail={"fault": "tag_unreadable"})
    _cracked, tag = rows("faults")
    assert tag["severity"] == "to be mended in time" and tag["aside"].startswith("goes out until | ")
    write(ruled_farm, "fault_found", at(4, "11:00"), ladder, detail={"fault": "hurt_someone"})
    assert rows("faults")[2]["aside"].endswith(" 11:00")


def test_severity_is_that_of_the_rules_of_the_day(ruled_farm: Farm) -> None:
    first, second = ruled_farm.gear("bag", 2, days_ago=20)
    write(ruled_farm, "fault_found", at(5), first, detail=HOLE)
    was = rows("faults")[0]["severity"]
    changed = (
        {"severity": "mend_by", "within_days": 4} if was == "stops its use" else {"severity": "stop_use"}
    )
    now = timezone.now()
    set_rule(ruled_farm.users["olga"], "fault bag_hole", changed, "a test", now)
    write(ruled_farm, "fault_found", now, second, detail=HOLE)
    before, after = rows("faults")
    assert before["severity"] == was != after["severity"]


def test_a_write_off_ends_what_was_open(ruled_farm: Farm, bag: str) -> None:
    write(ruled_farm, "fault_found", at(5), bag, detail=HOLE)
    write(ruled_farm, "written_off", at(3), bag, detail={"circumstance": "broken"}, note="torn through")
    (row,) = rows("faults")
    assert (row["state"], row["days"], row["mended"]) == ("written off", "2", "")


def test_what_was_taken_back_is_left_out_on_either_side(ruled_farm: Farm, bag: str) -> None:
    write(ruled_farm, "fault_found", at(6), bag, detail=HOLE)
    again = write(ruled_farm, "fault_found", at(5), bag, detail={"fault": "bag_buckle"})
    mended = write(ruled_farm, "mended", at(4), bag, by="mo", detail=MEND)
    assert [row["state"] for row in rows("faults")] == ["done", "still open"]
    take_back(ruled_farm, again)
    take_back(ruled_farm, mended)
    assert [row["state"] for row in rows("faults")] == ["still open"]


def test_filters(ruled_farm: Farm, bag: str) -> None:
    (ladder,) = ruled_farm.gear("ladder", store="B", days_ago=20)
    write(ruled_farm, "fault_found", at(5), bag, detail=HOLE, crew="red")
    write(ruled_farm, "fault_found", at(5), ladder, detail=CRACK, crew="blue", store="B")
    for limits in (
        {"store": "B"},
        {"kind": "ladder"},
        {"tag": ladder},
        {"crew": ruled_farm.crews["blue"].pk},
    ):
        (line,) = lines("faults", **limits)
        assert line.cells[1][0].key == "ladder", limits
    assert len(lines("faults")) == 2


def test_the_same_heads_give_the_same_lines(ruled_farm: Farm, bag: str) -> None:
    found = write(ruled_farm, "fault_found", at(6), bag, detail=HOLE, note="by the strap")

    def later() -> None:
        write(ruled_farm, "fault_found", at(7), bag, detail={"fault": "bag_buckle"})
        write(ruled_farm, "mended", at(4), bag, by="mo", detail=MEND)
        set_rule(ruled_farm.users["olga"], "fault bag_hole", {"severity": "note"}, "a test", timezone.now())
        take_back(ruled_farm, found)

    before, now = keeps_its_word("faults", later)
    assert [line.entry for line in before] == [found.pk]
    assert found.pk not in [line.entry for line in now]


def test_its_questions_do_not_grow_with_its_lines(
    ruled_farm: Farm, django_assert_max_num_queries: Any
) -> None:
    for tag in ruled_farm.gear("bag", 12, days_ago=20):
        write(ruled_farm, "fault_found", at(6), tag, detail=HOLE)
        write(ruled_farm, "mended", at(5), tag, by="mo", detail=MEND)
    with django_assert_max_num_queries(11):
        assert len(lines("faults")) == 12


def test_it_says_what_adds_up_and_what_to_mind(ruled_farm: Farm) -> None:
    (ladder,), (bag,) = ruled_farm.gear("ladder", days_ago=20), ruled_farm.gear("bag", days_ago=20)
    write(ruled_farm, "fault_found", at(5), ladder, detail=CRACK)
    write(ruled_farm, "fault_found", at(5), bag, detail={"fault": "tag_unreadable"})
    assert "Found in these days: 2. Carried over from before: 0." in sums("faults")
    assert "Still open: 2, of these 1 that stop the use of a piece." in sums("faults")
    assert {"ladder", "clippers"} <= set(REGISTERS["faults"].cautions)
