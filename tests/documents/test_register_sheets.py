"""Registers as workbook and CSV: the rows as they are, typed where the form has types, and nothing that runs."""

import csv
import io
import re
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import openpyxl
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from equipment.documents.registers import xlsx
from equipment.documents.registers.inert import inert, inert_anywhere
from equipment.models.registers import Cell
from tests.documents.a_register import CODE, DIGEST, HEADS, as_csv, as_xlsx, facts, line, lines, register

# By which a spreadsheet may take a cell for a formula: OWASP, CSV injection (from memory).
RUNS = ("=", "+", "-", "@", "\t", "\r", "＝", "＋", "－", "＠")
FORMULAS = (
    "=1+1", "+1", "-1+1|cmd", "@SUM(A1)", "\t=1", "\r=1", "＝1+1", "＋1", "－1", "＠A1", " =1", "\u200b=1", "\n=1",
    '=HYPERLINK("http://evil.example","x")', "=cmd|' /C calc'!A0", "{=1+1}", "'=1", '"=1',
)  # fmt: skip
MOMENT = datetime(2026, 11, 16, 3, 30, 15, tzinfo=UTC)

# One letter in four is one that matters, at the start or after what a program may split at.
letters = st.sampled_from([*"=+-@＝＋－＠\t\r\n,;|'\" ", "\u200b", "\x00", "\ud800", "a", "é", "1"])
hostile = st.builds(
    lambda start, rest, end: start + rest + end,
    st.sampled_from(["", *RUNS, *FORMULAS]),
    st.text(letters | st.characters(), max_size=12),
    st.sampled_from(["", "\n=1", ";=1", ",=1", "\t@x"]),
)


def read_csv(made: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(made.decode("utf-8-sig"), newline="")))


def table_of(rows: list[list[str]]) -> list[list[str]]:
    """Between the two empty lines, without the heads."""
    first, last = (number for number, row in enumerate(rows) if not row)
    return rows[first + 2 : last]


def cells_of(what: io.BytesIO) -> list[list[Any]]:
    sheet = openpyxl.load_workbook(what).worksheets[0]
    return [list(row) for row in sheet.iter_rows(min_row=2)]


def runs(text: str) -> bool:
    """Whether a spreadsheet may take `text` for a formula."""
    bare = text.lstrip("\u200b \n\x00")
    return text.startswith(("\t", "\r")) or bare.startswith(RUNS)


# Shrinking two hundred cells takes minutes and finds the same.
@settings(max_examples=40, phases=[Phase.reuse, Phase.generate])
@given(st.lists(hostile, min_size=252, max_size=252))
def test_ten_thousand_hostile_cells_are_inert_in_both(texts: list[str]) -> None:
    rows = [texts[n : n + 4] for n in range(0, 252, 4)]
    of, what = facts(register("A", "B", "C", "D")), lines(rows)
    read = table_of(read_csv(as_csv(of, what)))
    assert len(read) == len(rows)
    for row in read:
        assert not any(map(runs, row))
        # Nor where a program splits the cells at another mark.
        assert not [piece for cell in row for piece in re.split("[;|]", cell) if piece.startswith(RUNS)]
    cells = [cell for row in cells_of(as_xlsx(of, what)) for cell in row[1:]]
    assert not [cell for cell in cells if cell.data_type == "f" or runs(str(cell.value or ""))]
    assert {cell.data_type for cell in cells} <= {"s", "n"}
    assert all(cell.value is None for cell in cells if cell.data_type == "n")


@pytest.mark.parametrize("text", FORMULAS)
def test_a_formula_becomes_text_with_an_apostrophe(text: str) -> None:
    if runs(text):
        assert (
            inert(text) == inert_anywhere(text) == f"'{text}" or "\n" in text or "\t" in text or "\r" in text
        )
    assert inert(text).lstrip("'") == text.lstrip("'")


@pytest.mark.parametrize(
    "text", ["", "Ana Pérez", "Nguyễn Văn Ánh", "a-b", "07:30", "x, -5", "one\ntwo", "O'Brien"]
)
def test_plain_text_stays_as_it_is(text: str) -> None:
    assert inert(text) == inert_anywhere(text) == text


def test_csv_is_read_back_as_it_was() -> None:
    rows: list[tuple[Cell, ...]] = [
        (MOMENT, "Nguyễn Văn Ánh", Decimal("12.50"), True),
        (date(2026, 11, 16), 'O\'Brien "Bo", of\nthe ridge', -7, None),
        (None, "", ("one", None, "two"), False),
    ]
    made = as_csv(facts(register("At", "Who", "Much", "So")), lines(rows))
    assert made.startswith(b"\xef\xbb\xbf")
    assert table_of(read_csv(made)) == [
        ["A 1", "2026-11-16 05:30:15", "Nguyễn Văn Ánh", "12.50", "yes"],
        ["A 2", "2026-11-16", 'O\'Brien "Bo", of\nthe ridge', "-7", ""],
        ["A 3", "", "", "one\ntwo", "no"],
    ]


def test_csv_says_above_its_table_what_it_is_and_below_what_it_adds_up_to() -> None:
    told = register(notes=("Not proof of a debt.",), cautions=("ladder",), daily=True)
    rows = read_csv(as_csv(facts(told), lines([("a", "b", "c")])))
    head = rows[: rows.index([])]
    assert head[0][0] == "Lent" and ["Period", "16 November 2026 to 22 November 2026"] in head
    assert ["Not proof of a debt."] in head and ["Printing", CODE] in head
    assert ["Digest of the lines", DIGEST] in head and ["Printed 23 Nov 2026 10:00 by Olga Marais"] in head
    assert [["The book stood at A 1234", HEADS["A"][1]]] == [row for row in head if row[0].endswith("A 1234")]
    assert any("Nobody climbs a ladder" in row[0] for row in head)
    assert rows[rows.index([]) + 1] == ["Line", "At", "Picker", "Piece"]
    assert rows[-2] == ["1 line."] and rows[-1][0].startswith("6 days without an entry: 17 Nov 2026")


def test_a_workbook_is_typed() -> None:
    rows: list[tuple[Cell, ...]] = [
        (MOMENT, "Ana", Decimal("12.50"), True, 3),
        (date(2026, 11, 16), ("one", "two"), 10**15, None, -7),
        (date(1850, 1, 1), "", Decimal("-0.5"), False, 0),
    ]
    first, second, third = cells_of(as_xlsx(facts(register("At", "Who", "Much", "So", "N")), lines(rows)))
    assert [cell.value for cell in first] == ["A 1", datetime(2026, 11, 16, 5, 30, 15), "Ana", 12.5, "yes", 3]
    assert [cell.data_type for cell in first] == ["s", "d", "s", "n", "s", "n"]
    assert [cell.value for cell in second] == [
        "A 2",
        datetime(2026, 11, 16),
        "one\ntwo",
        str(10**15),
        None,
        -7,
    ]
    assert [cell.value for cell in third] == ["A 3", "1850-01-01", None, -0.5, "no", 0]


def test_a_workbook_says_on_a_sheet_of_its_own_what_it_is() -> None:
    book = openpyxl.load_workbook(as_xlsx(facts(), lines([("a", "b", "c")])))
    table, about = book.worksheets
    assert [cell.value for cell in table[1]] == ["Line", "At", "Picker", "Piece"]
    assert table.freeze_panes == "A2" and table.auto_filter.ref == "A1:D2" and book.properties.title == "Lent"
    said = dict(about.iter_rows(values_only=True))
    assert said["Printing"] == CODE and said["Digest of the lines"] == DIGEST
    assert said["The book stood at B 77"] == HEADS["B"][1]
    assert "1 line." in [row[1] for row in about.iter_rows(values_only=True)]


def test_a_cell_holds_what_a_cell_holds() -> None:
    ((_where, cell, *_rest),) = cells_of(as_xlsx(facts(), lines([("x" * 40_000, "b", "c")])))
    assert len(cell.value) == 32_767 and cell.value.endswith("x…")


def test_more_lines_than_a_sheet_holds_are_refused_before_anything_is_written() -> None:
    to = io.BytesIO()
    with pytest.raises(ValueError, match=r"A spreadsheet holds 1048575 lines .* Choose fewer days"):
        xlsx.write(facts(count=1_048_576), [], to)
    assert to.getvalue() == b""


def test_an_empty_register_is_a_whole_file_in_both() -> None:
    assert table_of(read_csv(as_csv(facts(), []))) == []
    assert cells_of(as_xlsx(facts(), [])) in ([], [[]])


def test_lines_are_asked_for_as_they_are_written() -> None:
    """Nothing holds more than some of them."""
    asked = 0

    def endless() -> Any:
        nonlocal asked
        while True:
            asked += 1
            yield line(1, "a", "b", "c")

    from equipment.documents.registers.csv import streamed

    pieces = streamed(facts(), endless())
    for _piece in range(5):
        assert len(next(pieces)) < 100_000
    assert asked < 20_000
