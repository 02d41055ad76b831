"""What may stand in a cell of each column, and what is said of what may not."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equipment.actions.importing.blocks import BlockLine
from equipment.actions.importing.cells import check, plain_text
from equipment.actions.importing.gear import GearLine
from equipment.actions.importing.plans import PlanLine
from equipment.actions.importing.reader import Row

BLOCK = {"code": "N4", "crop": "lemon"}
PLAN = {"date": "2026-03-25", "crew": "Red", "block": "N4"}
GEAR = {"kind": "bag", "store": "A"}


def of(shape, cells, **more):  # type: ignore[no-untyped-def]
    """The one row, and what is wrong with it as (column, reason)."""
    good, bad = check([Row(7, {**cells, **more})], shape)
    assert {cell.line for cell in bad} <= {7}
    return (good[0][1] if good else None), [(cell.column, cell.reason) for cell in bad]


@pytest.mark.parametrize(
    ("written", "means"),
    [
        ("12.5", "12.5"),
        ("12,50", "12.50"),
        (" 7 ", "7"),
        ("1 250,00", "1250.00"),
        ("48\u00a0500.00", "48500.00"),
    ],
)
def test_numbers_with_comma_or_point(written: str, means: str) -> None:
    row, bad = of(BlockLine, BLOCK, hectares=written)
    assert (row.hectares, bad) == (Decimal(means), [])


@pytest.mark.parametrize("written", ["1,250.00", "1.250", "R 7", "-1", "1e3", "nan", "٣", "7 ha", "123456"])
def test_what_may_be_another_number_is_refused(written: str) -> None:
    _row, bad = of(BlockLine, BLOCK, hectares=written)
    assert [column for column, _reason in bad] == ["hectares"]


@pytest.mark.parametrize(
    ("written", "means"),
    [("yes", True), ("TRUE", True), ("1", True), (" y ", True), ("No", False), ("0", False)],
)
def test_yes_and_no(written: str, means: bool) -> None:
    assert of(BlockLine, BLOCK, tall_trees=written)[0].tall_trees is means
    assert of(BlockLine, BLOCK, tall_trees="perhaps")[1] == [("tall_trees", "Write yes or no.")]


@pytest.mark.parametrize(
    ("written", "means"),
    [
        ("2026-03-25", date(2026, 3, 25)),
        ("25/03/2026", date(2026, 3, 25)),
        ("25.3.2026", date(2026, 3, 25)),
        ("5-5-2026", date(2026, 5, 5)),
    ],
)
def test_dates_year_first_or_unmistakable(written: str, means: date) -> None:
    assert of(PlanLine, PLAN, date=written)[0].date == means


def test_a_date_that_may_be_two_days_names_both() -> None:
    ((column, reason),) = of(PlanLine, PLAN, date="03/04/2026")[1]
    assert column == "date"
    assert "2026-04-03" in reason
    assert "2026-03-04" in reason


@pytest.mark.parametrize(
    "written", ["2026-02-30", "25/03/26", "03/25/2026", "20260325", "1782345600", "0226-03-25"]
)
def test_no_other_date_is_guessed(written: str) -> None:
    assert [column for column, _reason in of(PlanLine, PLAN, date=written)[1]] == ["date"]


def test_hostile_text_is_text() -> None:
    text = '=HYPERLINK("x")<script>alert(1)</script>\u202e'
    assert of(BlockLine, BLOCK, name=text)[0].name == text


@pytest.mark.parametrize("written", ["An\0a", "An\x1ba", "x" * 81])
def test_what_cannot_be_kept_is_named(written: str) -> None:
    assert [column for column, _reason in of(BlockLine, BLOCK, name=written)[1]] == ["name"]


def test_line_ends_inside_a_value_become_a_blank() -> None:
    assert of(BlockLine, BLOCK, name="Voor\r\n  huis ")[0].name == "Voor huis"


@given(st.text())
def test_plain_text_is_stable(text: str) -> None:
    try:
        once = plain_text(text)
    except ValueError:
        return
    assert plain_text(once) == once


@pytest.mark.parametrize(
    ("more", "column"),
    [
        ({"tag": "BG0001A"}, "tag"),
        ({"tag": "hello"}, "tag"),
        ({"count": "0"}, "count"),
        ({"count": "5001"}, "count"),
        ({"count": "2.5"}, "count"),
        ({"count": "9" * 5000}, "count"),
        ({"hand": "both"}, "hand"),
        ({"kind": " "}, "kind"),
    ],
)
def test_gear_columns(more: dict[str, str], column: str) -> None:
    assert [found for found, _reason in of(GearLine, GEAR, **more)[1]] == [column]


def test_all_bad_cells_of_a_row_are_named() -> None:
    bad = of(PlanLine, {"date": "x", "crew": "", "block": "N4", "clipped": "?", "part": "night"})[1]
    assert {column for column, _reason in bad} == {"date", "crew", "clipped", "part"}
