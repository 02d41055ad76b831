"""Inspections: what was looked at, by which checklist, what was found and by whom, when it is due again."""

from datetime import timedelta
from typing import Any

from django.utils import timezone
from django.utils.formats import date_format

from equipment.actions.inspect_item import all_good
from equipment.models import Entry, checklists, rules
from equipment.models.rules import Rule
from tests.cast import Farm
from tests.printing import at, keeps_its_word, lines, rows, sums, take_back, write

DAY = 2
MONTHLY: dict[str, Any] = {
    **{
        point.code: "yes"
        for point in checklists.by_code()["ladder_monthly"].point
        if point.answer == "yes_no"
    },
    "length": 3.6,
    "rating": 150,
}
LADDER = {"material": "aluminium", "legs": 3, "length_m": "3.60", "rating_kg": 150}


def looked_at(
    farm: Farm, tag: str, checklist: str, answers: dict[str, Any], clock: str = "16:00", **more: Any
) -> Entry:
    detail = {"checklist": checklist, "answers": answers, **more.pop("detail", {})}
    return write(farm, "inspected", at(DAY, clock), tag, detail=detail, by="olga", **more)


def in_days(days: int) -> str:
    return date_format(timezone.localdate(at(DAY)) + timedelta(days=days), "j M Y")


def test_a_ladder_with_what_it_is_and_when_it_is_due_again(ruled_farm: Farm) -> None:
    (tag,) = ruled_farm.gear("ladder", days_ago=20, make="Oak & Rung", size="3.6 m", **LADDER)
    looked_at(ruled_farm, tag, "ladder_monthly", MONTHLY)
    (row,) = rows("inspections")
    assert row["traits"] == "Oak & Rung, aluminium, 3 legs, 3.6 m, bears 150 kg"
    assert (row["items"], row["count"]) == (f"Ladder | {tag}", "1")
    assert row["checklist"] == "Ladder, recorded inspection"
    assert (row["good"], row["found"], row["by"]) == (f"{len(MONTHLY)} of {len(MONTHLY)}", "in order", "olga")
    assert row["read"] == "Length: 3.6 m | Load on the rating plate: 150 kg"
    # The catalogue asks for it every 30 days.
    assert row["next"] == in_days(30)


def test_what_failed_is_said_with_its_fault_and_note(ruled_farm: Farm) -> None:
    (tag,) = ruled_farm.gear("ladder", days_ago=20)
    answers = {**MONTHLY, "feet": "no", "rating": 90}
    looked_at(ruled_farm, tag, "ladder_monthly", answers, note="Left foot is gone.")
    (row,) = rows("inspections")
    assert row["good"] == f"{len(MONTHLY) - 2} of {len(MONTHLY)}"
    question, feet, plate, _fault, note = row["found"].split(" | ")
    assert question == "Feet whole and fit for soft ground: no" and feet == "Worn foot"
    assert plate == "Load on the rating plate: 90 kg" and note == "Left foot is gone."
    assert sums("inspections") == ["Inspections: 1, of which 1 found something. Written in the book late: 0."]


def test_a_first_aid_kit_with_the_dates_on_its_contents(ruled_farm: Farm) -> None:
    (tag,) = ruled_farm.gear("first_aid_kit", days_ago=20, size="class A")
    dates = {"Eye wash, fluid ounce": "2031-02-01", "Burn dressing": "2030-11-30"}
    looked_at(ruled_farm, tag, "first_aid_weekly", all_good("first_aid_weekly"), detail={"expiries": dates})
    (row,) = rows("inspections")
    assert row["read"] == "Burn dressing: 30 Nov 2030 | Eye wash, fluid ounce: 1 Feb 2031"
    assert (row["traits"], row["next"]) == ("class A", in_days(7))


def test_points_that_the_catalogue_does_not_know_any_more(ruled_farm: Farm) -> None:
    (tag,) = ruled_farm.gear("ladder", days_ago=20)
    looked_at(ruled_farm, tag, "ladder_yearly", {"paint": "no", "coats": 2.5})
    (row,) = rows("inspections")
    assert (row["checklist"], row["good"], row["next"]) == ("ladder_yearly", "2 of 2", "")
    assert row["read"] == "coats: 2.5"


def test_one_before_every_use_and_one_that_no_rule_asks_for(ruled_farm: Farm) -> None:
    (tag,) = ruled_farm.gear("ladder", days_ago=20)
    looked_at(ruled_farm, tag, "ladder_daily", all_good("ladder_daily"), "05:00")
    looked_at(ruled_farm, tag, "goggles_weekly", all_good("goggles_weekly"), "06:00")
    assert [row["next"] for row in rows("inspections")] == ["before its next use", ""]


def test_a_rule_that_is_changed_later_changes_no_line(ruled_farm: Farm) -> None:
    (tag,) = ruled_farm.gear("ladder", days_ago=20)
    looked_at(ruled_farm, tag, "ladder_monthly", MONTHLY)
    rule = Rule.objects.get(subject__contains="ladder_monthly")
    shorter = {**rule.values, "every_days": 5}

    def later() -> None:
        since, by = at(DAY - 1), ruled_farm.users["olga"]
        new = {"subject": rule.subject, "from_at": since, "recorded_at": since, "by": by, "why": "Dry."}
        rules.write([Rule(values=shorter, **new)])
        write(
            ruled_farm,
            "inspected",
            at(0, "00:00"),
            tag,
            detail={"checklist": "ladder_monthly", "answers": MONTHLY},
        )

    _before, now = keeps_its_word("inspections", later)
    assert [line.cells[-1] for line in now] == [
        timezone.localdate(at(DAY)) + timedelta(days=30),
        timezone.localdate() + timedelta(days=5),
    ]


def test_alike_pieces_that_were_looked_at_together_are_one_line(ruled_farm: Farm) -> None:
    bags = ruled_farm.gear("bag", 3, days_ago=20, make="Tornek")
    (other,), (late,) = (
        ruled_farm.gear("bag", days_ago=20, make="Snawel"),
        ruled_farm.gear("bag", days_ago=20, make="Tornek"),
    )
    good = all_good("bag_weekly")
    entries = [looked_at(ruled_farm, tag, "bag_weekly", good, f"16:0{n}") for n, tag in enumerate(bags[:2])]
    torn = {**good, next(iter(good)): "no"}
    looked_at(ruled_farm, bags[2], "bag_weekly", torn, "16:03")
    looked_at(ruled_farm, other, "bag_weekly", good, "16:04")
    looked_at(ruled_farm, late, "bag_weekly", good, "16:11")
    found = [(row["items"].split(" | ")[1], row["count"], row["traits"]) for row in rows("inspections")]
    assert found == [
        (", ".join(bags[:2]), "2", "Tornek"), (bags[2], "1", "Tornek"), (other, "1", "Snawel"), (late, "1", "Tornek"),
    ]  # fmt: skip
    assert lines("inspections")[0].entries == tuple(entry.pk for entry in entries)
    assert sums("inspections")[0].startswith("Inspections: 5, of which 1 found something.")


def test_what_was_taken_back_is_no_line(ruled_farm: Farm) -> None:
    (tag,) = ruled_farm.gear("ladder", days_ago=20)
    entry = looked_at(ruled_farm, tag, "ladder_monthly", MONTHLY)
    before, now = keeps_its_word("inspections", lambda: take_back(ruled_farm, entry))
    assert (len(before), now) == (1, [])


def test_what_was_recorded_late_is_marked(ruled_farm: Farm) -> None:
    (tag,) = ruled_farm.gear("ladder", days_ago=20)
    looked_at(ruled_farm, tag, "ladder_monthly", MONTHLY, "10:00", recorded=at(DAY, "12:30"))
    assert [row["recorded"] for row in rows("inspections")] == ["2:30 | late"]
    assert sums("inspections")[0].endswith("late: 1.")


def test_filters(ruled_farm: Farm) -> None:
    ladder, kit = ruled_farm.gear("ladder", days_ago=20)[0], ruled_farm.gear("first_aid_kit", days_ago=20)[0]
    looked_at(ruled_farm, ladder, "ladder_monthly", MONTHLY, crew="red")
    looked_at(ruled_farm, kit, "first_aid_weekly", all_good("first_aid_weekly"), "16:01", store="B")

    def found(**limits: Any) -> list[str]:
        return [row["items"].split(" | ")[1] for row in rows("inspections", **limits)]

    assert found() == [ladder, kit]
    assert found(kind="ladder") == found(tag=ladder) == found(crew=ruled_farm.crews["red"].pk) == [ladder]
    assert found(store="B") == [kit]
    assert found(days=DAY - 1) == []


def test_its_questions_do_not_grow_with_its_lines(ruled_farm: Farm, django_assert_num_queries: Any) -> None:
    for count in (1, 9):
        for tag in ruled_farm.gear("ladder", count, days_ago=20):
            looked_at(ruled_farm, tag, "ladder_monthly", MONTHLY)
        lines("inspections")
        with django_assert_num_queries(4):
            assert lines("inspections")
    assert len(lines("inspections")) == 10
