"""The chart under a register's end: of the book as it stood, and only where it shows what the paper shows."""

from io import BytesIO
from typing import Any

from django.utils import timezone

from equipment.actions.print_register import print_register
from equipment.documents.registers import write as write_file
from equipment.models import Printing
from equipment.models.registers import REGISTERS
from tests.cast import Farm
from tests.documents.reading import words
from tests.printing import asked, at, write

HOLE, CRACK = {"fault": "bag_hole"}, {"fault": "ladder_cracked_stile"}


def printed(name: str, **limits: Any) -> Printing:
    return print_register(REGISTERS[name], asked(**limits), "pdf", None, timezone.now())


def pages(printing: Printing, size: str = "A4") -> str:
    to = BytesIO()
    write_file(printing, to, size)
    return " ".join(words(to.getvalue()))


def test_each_has_its_chart_and_says_how_it_is_counted(ruled_farm: Farm) -> None:
    (bag,), (clippers,) = ruled_farm.gear("bag", days_ago=20), ruled_farm.gear("clippers", days_ago=20)
    write(ruled_farm, "cleaned", at(5), clippers, detail={"method": "wash", "recipe": "wash_soap"})
    write(ruled_farm, "handed_out", at(4), clippers, picker="ana", crew="red")
    write(ruled_farm, "fault_found", at(3), bag, detail=HOLE)
    write(ruled_farm, "written_off", at(2), bag, detail={"circumstance": "worn_out"})
    for name, title, figure in (
        ("faults", "Faults by kind and type", "Picking bag: Hole"),
        ("losses", "Written off, by month and circumstance", "worn out"),
        ("sanitation", "Sterilised before it went out again, by week", "0 % (0 of 1)"),
    ):
        for size in ("A4", "Letter"):
            told = pages(printed(name), size)
            at_end = told[told.index("The book as it stood when this was printed") :]
            assert title in at_end and "Counted is e" in at_end and figure in at_end
    assert "Counted is" not in pages(printed("overrides"))


def test_it_is_of_the_book_as_it_stood(ruled_farm: Farm) -> None:
    first, second = ruled_farm.gear("bag", 2, days_ago=20)
    write(ruled_farm, "fault_found", at(3), first, detail=HOLE)
    printing = printed("faults")
    before = pages(printing)
    write(ruled_farm, "fault_found", at(3), second, detail={"fault": "bag_torn_seam"})
    assert pages(printing) == before
    assert "Picking bag: Torn seam" in pages(printed("faults"))


def test_a_register_of_one_crew_kind_or_piece_has_none(ruled_farm: Farm) -> None:
    (bag,), (ladder,) = ruled_farm.gear("bag", days_ago=20), ruled_farm.gear("ladder", days_ago=20)
    write(ruled_farm, "fault_found", at(3), bag, detail=HOLE, crew="red")
    write(ruled_farm, "fault_found", at(3), ladder, detail=CRACK, crew="red")
    assert "Faults by kind" in pages(printed("faults", store="A"))
    for limits in ({"kind": "bag"}, {"crew": ruled_farm.crews["red"].pk}, {"tag": bag}):
        assert "Faults by kind" not in pages(printed("faults", **limits))


def test_more_bars_than_a_page_holds_are_drawn_smaller(ruled_farm: Farm) -> None:
    faults = ["bag_hole", "bag_torn_seam", "bag_buckle", "strap_torn", "hurt_someone", "tag_unreadable"]
    for kind in ("bag", "clippers", "ladder"):
        (tag,) = ruled_farm.gear(kind, days_ago=20)
        for fault in faults:
            write(ruled_farm, "fault_found", at(3), tag, detail={"fault": fault})
    told = pages(printed("faults"))
    assert "Not drawn: 3 lines." in told
