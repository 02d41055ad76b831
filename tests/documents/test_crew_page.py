"""The evening page: a crew's morning on paper."""

from dataclasses import replace
from datetime import date

import pytest

from equipment.documents.crew_page import LADDER_CAUTIONS, CrewSheet, PickerLine, SharedLine, crew_pages
from equipment.documents.fonts import BY_HAND
from equipment.domain import codes
from tests.documents.reading import pictures, reader, scanned_by_page, sizes, words

FARM = "Rooikrans Estate"
KINDS = ("Bag", "Clippers", "Gloves", "Goggles")
MANY_KINDS = (*KINDS, "Overalls", "Gumboots", "Set")
PREFIXES = dict(zip(MANY_KINDS, ("BG", "CL", "GL", "GG", "OV", "GB", "ST"), strict=True))


def picker(number: int, kinds: tuple[str, ...] = KINDS) -> PickerLine:
    usual = {kind: codes.make(PREFIXES[kind], number) for kind in kinds}
    return PickerLine(f"Thandi Nkosi-{number}", codes.make(codes.BADGE, number), usual)


def sheet(pickers: int, kinds: tuple[str, ...] = KINDS) -> CrewSheet:
    return CrewSheet(
        code=codes.make(codes.CREW, 1),
        crew="Valley crew",
        supervisor="Nomvula Dube",
        block="R7 Rooihoogte",
        day=date(2025, 5, 13),
        part_of_day="morning",
        kinds=kinds,
        pickers=tuple(picker(n, kinds) for n in range(1, pickers + 1)),
    )


LADDERS = tuple(SharedLine("Ladder", codes.make("LD", n)) for n in range(1, 8))
SHARED = (*LADDERS, SharedLine("First-aid kit", codes.make("FA", 1)), SharedLine("Spare clippers"))


def test_thirty_pickers_and_the_shared_gear_fit_on_one_page() -> None:
    full = replace(sheet(30, MANY_KINDS), shared=SHARED, ladders=True)
    (page,) = words(crew_pages([full], FARM))
    for line in full.pickers:
        assert all(text in page for text in (line.name, line.badge, *line.usual.values()))
    assert all(piece.kind in page and piece.tag in page for piece in full.shared)
    assert all(caution in page for caution in LADDER_CAUTIONS)


def test_the_head_says_who_where_and_when() -> None:
    (page,) = words(crew_pages([sheet(3)], FARM))
    for text in (
        "Valley crew",
        "Nomvula Dube",
        "R7 Rooihoogte",
        "Tuesday 13 May 2025, morning",
        *KINDS,
        "Tick the box",
    ):
        assert text in page


def test_the_symbol_opens_the_crew() -> None:
    crews = [sheet(3), replace(sheet(3), code=codes.make(codes.CREW, 2))]
    pdf = crew_pages(crews, FARM)
    assert scanned_by_page(pdf) == [{crew.code} for crew in crews]
    assert sizes(pdf) == {(210, 297)} and pictures(pdf) == 0
    assert reader(pdf).metadata.title == "Crew pages for 13 May 2025"


def test_each_crew_begins_a_page_and_heads_are_repeated() -> None:
    first, again, other = words(crew_pages([sheet(45), replace(sheet(2), crew="Ridge crew")], FARM))
    assert "Valley crew" in first and "Valley crew" in again and "Ridge crew" in other
    assert all("Clippers" in page and "Picker" in page and "Badge" in page for page in (first, again, other))
    assert "page 2 of 3" in again


@pytest.mark.parametrize("count", [39, 40, 41, 85])
def test_no_row_is_split_or_lost(count: int) -> None:
    crew = sheet(count)
    pages = words(crew_pages([crew], FARM))
    for line in crew.pickers:
        holding = [page for page in pages if line.name + " " in page]
        assert len(holding) == 1
        assert all(text in holding[0] for text in (line.badge, *line.usual.values()))


def test_there_are_blank_lines_for_extra_pickers() -> None:
    (page,) = words(crew_pages([sheet(2)], FARM))
    assert "3 4 5 6" in page and " 7 " not in page


def test_a_picker_without_usual_gear_has_boxes_only() -> None:
    crew = replace(sheet(0), pickers=(PickerLine("Ana Pérez", codes.make(codes.BADGE, 1)),))
    (page,) = words(crew_pages([crew], FARM))
    assert "Ana Pérez" in page and "BG0" not in page


def test_cautions_stand_where_ladders_go_along() -> None:
    with_ladders, without = words(crew_pages([replace(sheet(3), ladders=True), sheet(3)], FARM))
    assert all(caution in with_ladders for caution in LADDER_CAUTIONS)
    assert "top rung" not in without


def test_cautions_are_never_torn_from_each_other() -> None:
    for count in range(28, 40):
        crew = replace(sheet(count), shared=SHARED, ladders=True)
        holding = [page for page in words(crew_pages([crew], FARM)) if "top rung" in page]
        assert len(holding) == 1 and all(caution in holding[0] for caution in LADDER_CAUTIONS)


def test_a_long_name_is_cut_and_another_script_is_left_to_the_pen() -> None:
    long, other = (
        PickerLine("Nkosi " * 30, codes.make(codes.BADGE, 1)),
        PickerLine("李小龙", codes.make(codes.BADGE, 2)),
    )
    (page,) = words(crew_pages([replace(sheet(0), pickers=(long, other))], FARM))
    assert "…" in page and BY_HAND in page and "write by hand" in page


def test_a_crew_without_a_plan_has_a_page_too() -> None:
    crew = replace(sheet(30, ()), block="no plan", part_of_day="", supervisor="")
    (page,) = words(crew_pages([crew], FARM))
    assert "Tuesday 13 May 2025 Block: no plan" in page and all(line.name in page for line in crew.pickers)


def test_no_crew_is_said() -> None:
    with pytest.raises(ValueError, match="No crew works"):
        crew_pages([], FARM)
