"""One item's whole life: every line, those taken back as well, in words that come from values."""

from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from crews.models.devices import PAPER_ID
from equipment.actions.inspect_item import all_good
from equipment.domain.verbs import VERBS
from equipment.models import Note
from equipment.models.registers import REGISTERS
from equipment.models.registers._item_words import DID
from tests.cast import Farm
from tests.printing import at, keeps_its_word, lines, rows, sums, take_back, write


@pytest.fixture
def bag(farm: Farm) -> str:
    return farm.gear("bag", days_ago=20, make="Tornek")[0]


def test_each_verb_of_an_item_has_its_words() -> None:
    of_items = {name for name, verb in VERBS.items() if verb.family in ("item", "any")}
    assert of_items == set(DID) | {"cleaned"}


STORY = [
    ("retagged", {"detail": {"tag": "BG9001L"}}, "New label", "BG9001L"),
    ("packed", {"detail": {"set": "ST0001P"}}, "Packed into a set", "ST0001P"),
    ("packed", {"detail": {"set": None}}, "Taken out of its set", ""),
    ("handed_out", {"picker": "ana", "crew": "red"}, "Handed out", ""),
    (
        "handed_out",
        {"picker": "ben", "crew": "red", "detail": {"from": "ana"}},
        "Passed on",
        "from Ana (1)",
    ),
    ("stowed", {"block": "N4", "detail": {"block": "N4", "counted": 3}}, "Left in the orchard", "3 counted"),
    ("returned", {"detail": {"wet": True}}, "Came back", "wet"),
    ("cleaned", {"detail": {"method": "dry"}}, "Dried", ""),
    ("moved", {"detail": {"to": "B"}}, "Moved to another store", "Store B"),
    ("fault_found", {"detail": {"fault": "tag_unreadable"}}, "Fault found", "Tag unreadable"),
    (
        "mended",
        {"detail": {"fault": "tag_unreadable", "method": "printed anew", "minutes": 3, "parts": "a label"}},
        "Mended",
        "Tag unreadable | printed anew | a label | 3 minutes",
    ),
    (
        "flagged",
        {"detail": {"disease": "citrus_canker", "case": "7"}},
        "Flagged: may carry a disease",
        "Citrus canker | 7",
    ),
    ("missed", {}, "Marked missing", ""),
    ("found", {}, "Found", ""),
    ("seen", {}, "Seen at a stocktake", ""),
    ("heard", {"picker": "ana", "note": "I hung it up."}, "The picker's side", ""),
    (
        "written_off",
        {"detail": {"circumstance": "stolen", "case": "CAS 1"}},
        "Written off",
        "stolen | case CAS 1",
    ),
]


def test_it_tells_everything_that_happened_in_order(farm: Farm, bag: str) -> None:
    for minute, (verb, fields, _did, _more) in enumerate(STORY):
        fields = dict(fields)
        if fields.get("detail", {}).get("from"):
            fields["detail"] = {"from": f"picker:{farm.pickers['ana'].pk}"}
        write(farm, verb, at(5, f"06:{minute:02}"), bag, **fields)
    registered, *told = rows("item-life", tag=bag)
    assert registered["did"] == "Registered" and registered["more"] == "Picking bag, Tornek"
    assert [(row["did"], row["more"]) for row in told] == [(did, more) for _v, _f, did, more in STORY]
    assert told[3]["who"] == "Ana (1) | Red crew" and told[5]["place"].startswith("N4 | Store A")
    assert told[-2]["note"] == "I hung it up."


def test_any_of_its_labels_finds_the_whole_life(farm: Farm, bag: str) -> None:
    write(farm, "retagged", at(5), bag, detail={"tag": "BG9001L"})
    assert rows("item-life", tag="BG9001L") == rows("item-life", tag=bag) != []
    assert not lines("item-life", tag="BG9002J")


def test_a_line_that_was_taken_back_says_so_and_so_does_the_line_that_did_it(farm: Farm, bag: str) -> None:
    out = write(farm, "handed_out", at(2, "05:31"), bag, picker="ana", crew="red")
    take_back(farm, out, at(2, "05:40"))
    _registered, struck, undoing = rows("item-life", tag=bag)
    assert struck["struck"].startswith("taken back here | ") and struck["struck"].endswith(" 05:40 | rosa")
    assert (undoing["did"], undoing["more"]) == ("A line taken back", f"line A {out.position}")
    assert undoing["struck"] == ""
    assert sums("item-life", tag=bag) == ["Lines taken back: 1."]


def test_late_lines_and_those_from_paper_are_marked(farm: Farm, bag: str) -> None:
    write(farm, "handed_out", at(2, "05:31"), bag, picker="ana", crew="red", recorded=at(2, "18:00"))
    pen = farm.pen()
    pen.device = PAPER_ID
    draft = pen.draft("returned", happened_at=at(2, "16:00"), item=lines("item-life", tag=bag)[0].entry)
    pen.record([draft], "note")
    _registered, late, paper = rows("item-life", tag=bag)
    assert " | late | " in late["at"] and late["at"].endswith(" 18:00")
    assert " | from paper, entered | " in paper["at"]


def test_a_cleaning_that_does_not_count_says_so(ruled_farm: Farm) -> None:
    (clippers,) = ruled_farm.gear("clippers", days_ago=20)
    write(ruled_farm, "cleaned", at(2), clippers, detail={"method": "sterilise", "seconds": 5})
    assert rows("item-life", tag=clippers)[1]["more"] == "5 seconds | does not count"


def test_what_failed_is_told_with_its_answers(ruled_farm: Farm) -> None:
    (bag,) = ruled_farm.gear("bag", days_ago=20)
    good = all_good("bag_weekly")
    point = next(name for name, value in good.items() if value == "yes")
    for day, answers in ((3, good), (2, {**good, point: "no"})):
        write(ruled_farm, "inspected", at(day), bag, detail={"checklist": "bag_weekly", "answers": answers})
    _registered, passed, failed = rows("item-life", tag=bag)
    assert passed["more"].endswith(" | nothing wrong")
    assert " | failed: | " in failed["more"] and failed["more"].endswith(": no")


def test_erased_notes_say_so(farm: Farm, bag: str) -> None:
    write(farm, "missed", at(2), bag, note="Ana said so.")
    keeps_its_word(
        "item-life", lambda: Note.objects.update(text="", salt="", erased_at=timezone.now()), tag=bag
    )
    assert rows("item-life", tag=bag)[1]["note"] == "erased"


def test_the_same_heads_give_the_same_lines(farm: Farm, bag: str) -> None:
    out = write(farm, "handed_out", at(2, "05:31"), bag, picker="ana", crew="red")

    def later() -> None:
        take_back(farm, out)
        write(farm, "missed", at(3), bag)

    before, now = keeps_its_word("item-life", later, tag=bag)
    assert (len(before), len(now)) == (2, 4)
    assert before[1].cells[-1] is None
    assert "tag" in REGISTERS["item-life"].needs


def test_a_part_of_its_life(farm: Farm, bag: str) -> None:
    write(farm, "missed", at(9), bag)
    write(farm, "found", at(2), bag)
    assert [row["did"] for row in rows("item-life", tag=bag, days=5)] == ["Found"]


def test_its_questions_do_not_grow_with_its_lines(
    farm: Farm, bag: str, django_assert_max_num_queries: Any
) -> None:
    start = at(5)
    for minute in range(20):
        write(farm, ("missed", "found")[minute % 2], start + timedelta(minutes=minute), bag)
    with django_assert_max_num_queries(4):
        assert len(lines("item-life", tag=bag)) == 21
