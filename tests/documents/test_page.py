"""The foot of every A4 sheet: a rule that is 100 mm long, how many pages there are, and what to write by hand."""

import pytest
from PIL import Image

from equipment.documents.counter_sheet import counter_tags
from equipment.documents.fonts import BY_HAND
from equipment.documents.labels import LabelRow, label_roll, label_sheets, tiny_sheets
from equipment.documents.layouts import LAYOUTS, ROLLS, TINY, Layout
from equipment.documents.page import PAGE_FOOT, Foot
from equipment.domain import codes
from tests.documents.reading import drawn, words

FARM = "Rooikrans Estate"
DPI = 300
MM = DPI / 25.4
DARK = 100
# The end ticks are lines of half a point themselves, and a dot is 0.085 mm.
ENDS = 0.3


def label(name: str = "Clippers", number: int = 1) -> LabelRow:
    return LabelRow(codes.make("CL", number), (name,))


def rule_length(picture: Image.Image, foot: Foot) -> float:
    """The longest dark line along `foot`, in mm, measured on the drawn page."""
    x, y = foot.x, 297 - foot.y
    if foot.turned:  # turn the page so that its left edge is on top
        picture, x, y = picture.rotate(-90, expand=True), foot.y, foot.x
    band = picture.crop((int((x - 4) * MM), int((y - 3) * MM), int((x + 110) * MM), int((y + 3) * MM)))
    return max(longest_run(band, row) for row in range(band.height)) / MM


def longest_run(band: Image.Image, row: int) -> int:
    line = band.crop((0, row, band.width, row + 1)).tobytes()
    return max(len(run) for run in bytes(1 if dot < DARK else 0 for dot in line).split(b"\0"))


@pytest.mark.parametrize("layout", [*LAYOUTS.values(), TINY], ids=lambda layout: layout.name)
def test_the_rule_on_label_sheets_is_100_mm(layout: Layout) -> None:
    make = tiny_sheets if layout is TINY else lambda rows, farm: label_sheets(rows, layout, farm)
    (picture,) = drawn(make([label()], FARM), DPI)
    assert rule_length(picture, layout.foot) == pytest.approx(100, abs=ENDS)


def test_the_rule_on_pages_is_100_mm() -> None:
    (picture,) = drawn(counter_tags(FARM), DPI)
    assert rule_length(picture, PAGE_FOOT) == pytest.approx(100, abs=ENDS)


def test_pages_are_counted_where_there_are_several() -> None:
    layout = LAYOUTS["24 of 64 x 33.9 mm"]
    pages = words(label_sheets([label(number=n) for n in range(50)], layout, FARM))
    assert [f"page {n} of 3" in page for n, page in enumerate(pages, start=1)] == [True, True, True]
    assert "page" not in words(label_sheets([label()], layout, FARM))[0]


def test_the_foot_names_the_document_and_the_farm() -> None:
    (page,) = words(label_sheets([label()], LAYOUTS["24 of 64 x 33.9 mm"], FARM))
    assert "Labels" in page and FARM in page and "100 mm, or print at actual size" in page


def test_a_farm_with_a_very_long_name_leaves_the_rest_of_the_foot_whole() -> None:
    (page,) = words(label_sheets([label()], LAYOUTS["24 of 64 x 33.9 mm"], "Rooikrans " * 30))
    assert "100 mm, or print at actual size · Labels" in page


def test_only_the_page_with_a_gap_explains_it() -> None:
    layout = LAYOUTS["12 of 63.5 x 72 mm"]
    rows = [label(number=n) for n in range(12)] + [label("李小龙", 12)]
    first, second = words(label_sheets(rows, layout, FARM))
    assert BY_HAND not in first and "write by hand" not in first
    assert f"{BY_HAND}: no type for it, write by hand" in second and second.count(BY_HAND) == 2


def test_a_roll_has_no_foot_so_the_label_explains_its_gap() -> None:
    plain, gap = words(label_roll([label(), label("李小龙", 2)], ROLLS["50 x 25 mm"], FARM))
    assert "hand" not in plain and "100 mm" not in plain
    assert f"{BY_HAND}: by hand" in gap
