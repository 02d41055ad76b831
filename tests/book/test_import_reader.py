"""Reading a CSV file as spreadsheets write it: encodings, separators, line ends, quoting (RFC 4180), columns."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from equipment.actions.importing.reader import MOST_BYTES, Sheet, Unreadable, read

KNOWN = ("number", "name", "tall_trees")
PLAIN = "number,name\r\n1,Ana\r\n2,Zoë\r\n"
ANA_AND_ZOE = [{"number": "1", "name": "Ana"}, {"number": "2", "name": "Zoë"}]


def cells(data: bytes) -> list[dict[str, str]]:
    return [row.cells for row in read(data, KNOWN, {"name"}).rows]


def wrong(data: bytes) -> list[tuple[int, str, str]]:
    with pytest.raises(Unreadable) as caught:
        read(data, KNOWN, {"name"})
    return [(cell.line, cell.column, cell.reason) for cell in caught.value.bad]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\r\n", "\n", "\r"])
def test_every_way_a_spreadsheet_saves_it(encoding: str, separator: str, end: str) -> None:
    text = PLAIN.replace(",", separator).replace("\r\n", end)
    mark = {"utf-16-le": b"\xff\xfe", "utf-16-be": b"\xfe\xff"}.get(encoding, b"")
    assert cells(mark + text.encode(encoding)) == ANA_AND_ZOE


def test_windows_1252_is_read_and_said() -> None:
    sheet = read(PLAIN.encode("cp1252"), KNOWN, {"name"})
    assert [row.cells for row in sheet.rows] == ANA_AND_ZOE
    assert "Windows-1252" in sheet.warnings[0]
    assert read(PLAIN.encode(), KNOWN, {"name"}).warnings == ()


def test_names_of_columns_in_any_capitals_and_order() -> None:
    assert cells(b" NAME ;Tall Trees;\n Ana ;yes;\n") == [{"name": " Ana ", "tall_trees": "yes"}]


def test_a_line_that_names_the_separator_is_no_line_of_the_list() -> None:
    sheet = read(b"sep=;\r\nname;number\r\nAna, the first;1\r\n", KNOWN, {"name"})
    assert [(row.line, row.cells["name"]) for row in sheet.rows] == [(3, "Ana, the first")]


def test_lines_are_counted_as_they_stand_in_the_file() -> None:
    sheet = read(b'\n\nname,number\n"Ana\nof Voorhuis",1\n  ,\n\nBen,2\n', KNOWN, {"name"})
    assert [(row.line, row.cells["name"]) for row in sheet.rows] == [(4, "Ana\nof Voorhuis"), (8, "Ben")]


def test_unknown_missing_and_repeated_columns_are_all_named() -> None:
    found = wrong(b"number,colour,number\n1,red,2\n")
    assert [(line, column) for line, column, _ in found] == [(1, "colour"), (1, "number"), (1, "name")]
    assert "number, name, tall_trees" in found[0][2]


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("1,Ana,7", "no column"),
        ("1", "ends early"),
        ('1,"Ana"s', "quotation mark"),
        ('1,"Ana', "quotation mark"),
    ],
)
def test_a_line_that_does_not_fit_is_named_and_the_others_are_read(line: str, says: str) -> None:
    sheet = read(f"number,name\n0,Zoë\n{line}\n".encode(), KNOWN, {"name"})
    assert [row.line for row in sheet.rows] == [2]
    assert [cell.line for cell in sheet.bad] == [3]
    assert says in sheet.bad[0].reason


def test_blank_cells_beyond_the_columns_do_not_matter() -> None:
    assert cells(b"number,name,,\n1,Ana,,\n2,Ben, , ,\n")[1] == {"number": "2", "name": "Ben"}


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "empty"),
        (b"\xef\xbb\xbf \r\n\r\n", "empty"),
        (b"PK\x03\x04rest of a workbook", "workbook"),
        ("number,name\n".encode("utf-16-le"), "not a text file"),
        (b"\xff\xfe\x00", "not a text file"),
        (b"name\n\x81\x8d\n", "not a text file"),
        (b"a" * (MOST_BYTES + 1), "10 MB"),
        (b"name\n" + b"a\n" * 20_001, "20000 rows"),
        (b'"name\n', "quotation mark"),
    ],
    ids=["nothing", "blank", "workbook", "utf-16", "half", "no-text", "large", "long", "open"],
)
def test_what_is_no_list_is_refused_in_words(data: bytes, says: str) -> None:
    assert any(says in reason for _line, _column, reason in wrong(data))


# The writer of Python 3.11 leaves a lone carriage return unquoted; spreadsheets do not.
TEXT = st.text(st.characters(blacklist_categories=["Cs"], blacklist_characters="\r"), max_size=30)


@given(
    st.lists(st.tuples(TEXT, TEXT), max_size=8),
    st.sampled_from(",;\t"),
    st.sampled_from(["\r\n", "\n"]),
    st.sampled_from(["utf-8-sig", "utf-16"]),
)
def test_any_text_comes_back_as_it_was_written(
    rows: list[tuple[str, str]], separator: str, end: str, encoding: str
) -> None:
    """The writer of the standard library is the oracle."""
    file = io.StringIO(newline="")
    writer = csv.writer(file, delimiter=separator, lineterminator=end)
    writer.writerows([("number", "name"), *((f"x{one}", other) for one, other in rows)])
    sheet = read(file.getvalue().encode(encoding), KNOWN, {"name"})
    assert [(row.cells["number"], row.cells["name"]) for row in sheet.rows] == [(f"x{a}", b) for a, b in rows]
    assert sheet.bad == ()


@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused(data: bytes) -> None:
    try:
        sheet = read(b"name,number\n" + data, KNOWN, {"name"})
    except Unreadable as error:
        sheet = Sheet(bad=error.bad)
    assert all(row.cells["name"] is not None for row in sheet.rows)
    assert all(cell.reason for cell in sheet.bad)


@pytest.mark.parametrize("cell", ["number,", "{},", '"a{}",'])
def test_a_line_of_a_million_columns_is_refused_in_one_sentence(cell: str) -> None:
    """Columns that each stand among the others would be looked up a million times a million."""
    line = "".join(cell.format(n) for n in range(500_000))
    with pytest.raises(Unreadable) as refused:
        read(line.encode(), ("number", "name"), ())
    assert len(refused.value.bad) == 1 and "more than 200 columns" in refused.value.bad[0].reason
