"""Every label of every layout is read back by scanner and by eye, and lies where the sheet has it."""

import re
from collections import Counter

import pytest
import zxingcpp

from equipment.documents.labels import LabelRow, Start, label_roll, label_sheets, tiny_roll, tiny_sheets
from equipment.documents.layouts import CARDS, LAYOUTS, ROLLS, TINY, TINY_ROLLS, Layout, Roll
from equipment.domain import codes
from tests.documents.reading import TINY as TINY_DPI
from tests.documents.reading import drawn, pictures, reader, scanned, sizes, words

FARM = "Rooikrans Estate"
BASE = "https://shed.rooikrans.example:8000/"
LONG = "Ladder with three legs, 2.4 m, aluminium, from the second delivery of the year 2024"
MM = TINY_DPI / 25.4


def labels(count: int, first: int = 1) -> list[LabelRow]:
    """Codes of every length among them."""
    numbers = [first + n if n % 5 else 9_000_000 + n for n in range(count)]
    return [LabelRow(codes.make("CL", n), ("Clippers", "left hand", "Oranjeblaar")) for n in numbers]


def expected(rows: list[LabelRow]) -> Counter[str]:
    return Counter(row.code for row in rows)


def printed_codes(pdf: bytes) -> Counter[str]:
    """What stands in type on the two sheets."""
    first, second = words(pdf)
    return Counter(re.findall(r"\bCL\d{4,7}[0-9A-Z]\b", f"{first} {second}"))


@pytest.mark.parametrize("layout", LAYOUTS.values(), ids=LAYOUTS)
def test_every_label_of_a_sheet_is_read(layout: Layout) -> None:
    rows = labels(layout.places + 1)
    pdf = label_sheets(rows, layout, FARM)
    assert scanned(pdf) == expected(rows)
    assert sizes(pdf) == {(210, 297)}
    assert printed_codes(pdf) == expected(rows)
    assert pictures(pdf) == 0


@pytest.mark.parametrize("layout", LAYOUTS.values(), ids=LAYOUTS)
def test_with_a_url_labels_with_room_hold_it_and_small_ones_the_code(layout: Layout) -> None:
    rows = labels(layout.places)
    read = scanned(label_sheets(rows, layout, FARM, url_base=BASE))
    assert {codes.parse(text).text for text in read} == set(expected(rows)) and read.total() == len(rows)
    assert {text.startswith(f"{BASE}t/") for text in read} == {layout.height > 30}


@pytest.mark.parametrize("roll", ROLLS.values(), ids=ROLLS)
def test_a_roll_has_one_label_a_page(roll: Roll) -> None:
    rows = labels(6)
    pdf = label_roll(rows, roll, FARM)
    assert sizes(pdf) == {(roll.width, roll.height)}
    assert scanned(pdf) == expected(rows)
    assert [row.code in page and "Clippers" in page for row, page in zip(rows, words(pdf), strict=True)] == [
        True
    ] * 6


def test_a_tiny_sheet_is_read_at_300_dots_to_the_inch() -> None:
    rows = labels(TINY.places + 1)
    pdf = tiny_sheets(rows, FARM)
    assert scanned(pdf, TINY_DPI) == expected(rows)
    assert printed_codes(pdf) == expected(rows)


def test_a_tiny_label_also_goes_on_bought_sheets() -> None:
    layout = LAYOUTS["65 of 38.1 x 21.2 mm"]
    rows = labels(layout.places)
    assert scanned(tiny_sheets(rows, FARM, layout), TINY_DPI) == expected(rows)


@pytest.mark.parametrize("roll", TINY_ROLLS.values(), ids=TINY_ROLLS)
def test_a_tiny_roll_is_read_at_300_dots_to_the_inch(roll: Roll) -> None:
    rows = labels(6)
    pdf = tiny_roll(rows, roll, FARM)
    assert scanned(pdf, TINY_DPI) == expected(rows)
    assert [row.code in page for row, page in zip(rows, words(pdf), strict=True)] == [True] * 6


@pytest.mark.parametrize("roll", TINY_ROLLS.values(), ids=TINY_ROLLS)
def test_a_tiny_symbol_is_12_mm_without_quiet_zone(roll: Roll) -> None:
    """Measured between the outer corners of the three finder patterns, as zxing finds the symbol."""
    for picture in drawn(tiny_roll(labels(3), roll, FARM), TINY_DPI):
        (found,) = zxingcpp.read_barcodes(picture)
        across = found.position.top_right.x - found.position.top_left.x
        down = found.position.bottom_left.y - found.position.top_left.y
        assert (across / MM, down / MM) == pytest.approx((12, 12), abs=0.2)


def test_each_label_lies_in_its_place() -> None:
    layout = LAYOUTS["24 of 64 x 33.9 mm"]
    rows = labels(24)
    (picture,) = drawn(label_sheets(rows, layout, FARM), 100)
    places = {found.text: found.position.top_left for found in zxingcpp.read_barcodes(picture)}
    for place, row in enumerate(rows, start=1):
        x, y = layout.corner(place)
        at_x, at_y = places[row.code].x * 25.4 / 100, 297 - places[row.code].y * 25.4 / 100
        assert x < at_x < x + layout.width and y < at_y < y + layout.height


def test_printing_starts_where_it_is_told_and_skips_used_places() -> None:
    layout = LAYOUTS["12 of 63.5 x 72 mm"]
    rows = labels(11)
    first, second = drawn(label_sheets(rows, layout, FARM, Start(3, frozenset({4, 12}))), 100)
    tops = {found.text: found.position for found in zxingcpp.read_barcodes(first)}
    assert set(tops) == {row.code for row in rows[:8]}
    assert tops[rows[0].code].top_left.x > first.width * 2 / 3  # place 3: top right
    assert first.width / 3 < tops[rows[1].code].top_left.x < first.width * 2 / 3  # place 4 is used: place 5
    assert len(zxingcpp.read_barcodes(second)) == 3  # places 4 and 12 of a new sheet are free


@pytest.mark.parametrize(
    ("start", "sentence"),
    [
        (Start(0), "no place 0"),
        (Start(25), "no place 25"),
        (Start(1, frozenset({99})), "no place 99"),
        (Start(24, frozenset({24})), "No place is left"),
    ],
)
def test_a_start_that_is_not_on_the_sheet(start: Start, sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        label_sheets(labels(1), LAYOUTS["24 of 64 x 33.9 mm"], FARM, start)


def test_nothing_to_print_is_said() -> None:
    with pytest.raises(ValueError, match="nothing to print"):
        label_sheets([], LAYOUTS["24 of 64 x 33.9 mm"], FARM)
    with pytest.raises(ValueError, match="nothing to print"):
        label_roll([], ROLLS["50 x 25 mm"], FARM)


def test_a_roll_that_is_too_small_is_said() -> None:
    with pytest.raises(ValueError, match="print tiny labels"):
        label_roll(labels(1), Roll(25, 15), FARM)
    for roll in (Roll(15, 15), Roll(14, 30), Roll(50, 14)):
        with pytest.raises(ValueError, match="at least 15 x 18 mm, or 24 x 15 mm"):
            tiny_roll(labels(1), roll, FARM)


@pytest.mark.parametrize("layout", [*LAYOUTS.values(), TINY, CARDS], ids=lambda layout: layout.name)
def test_a_layout_lies_on_the_paper_and_leaves_its_foot_free(layout: Layout) -> None:
    x, y = layout.corner(layout.places)
    assert x + layout.width <= 210 and y >= 4.3
    foot = layout.foot
    across, up = (2, foot.length) if foot.turned else (foot.length, 2)
    assert foot.length >= 150
    assert foot.x >= 4.3 and foot.y >= 4.3 and foot.x + across <= 210 and foot.y + up <= 297 - 4.3
    assert foot.x <= layout.left if foot.turned else foot.y + 2 <= y


def test_long_lines_are_broken_and_cut_but_the_code_is_whole() -> None:
    row = LabelRow(codes.make("LD", 9_999_999), (LONG, LONG, LONG, LONG, LONG))
    for layout in LAYOUTS.values():
        pdf = label_sheets([row], layout, FARM)
        assert row.code in words(pdf)[0] and "Ladder with" in words(pdf)[0]
        assert scanned(pdf) == {row.code: 1}


def test_the_document_knows_its_name_and_asks_for_actual_size() -> None:
    pdf = reader(label_sheets(labels(1), LAYOUTS["24 of 64 x 33.9 mm"], FARM))
    assert pdf.metadata and (pdf.metadata.title, pdf.metadata.author) == ("Labels", FARM)
    assert pdf.viewer_preferences and pdf.viewer_preferences.print_scaling == "/None"
