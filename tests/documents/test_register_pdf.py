"""A register on paper: the text equals the rows, nothing is split or lost, and every page leads back to the book."""

from dataclasses import replace
from datetime import timedelta
from random import Random

import pytest

from equipment.documents.fonts import BY_HAND
from equipment.documents.registers.facts import MOST_DAYS
from equipment.domain import printed
from equipment.models.registers import Asked, Column
from tests.documents.a_register import (
    CODE,
    DIGEST,
    HEADS,
    MONDAY,
    START,
    SUNDAY,
    as_pdf,
    facts,
    line,
    lines,
    register,
)  # fmt: skip
from tests.documents.reading import reader, scanned_by_page, sizes, words

# Names as people write them: common practice, no source.
PEOPLE = (
    "Íñigo Güemes Núñez", "João Gonçalves Simões", "Łukasz Żółć-Brzęczyszczykiewicz", "Nguyễn Thị Ánh Tuyết",
    "Tapiwanashe Ng'andu", "ǃXóõ ǂKhomani ǀXam ǁGana", "Đặng Ứng",
)  # fmt: skip
HARMLESS = (
    "<b>Ana</b> & <para>Ben</para>", "O'Brien \"Bo\" (Bob)", "back\\slash (unbalanced", "%(name)s {0} %s",
    "&lt;i&gt;", "one\ntwo\r\nthree",
)  # fmt: skip


def squeezed(text: str) -> str:
    return "".join(text.split())


def test_the_text_of_the_pages_equals_the_rows() -> None:
    rows = [(f"{n:03d} o'clock", f"Thandi Nkosi {n}", f"BG{n:04d}K") for n in range(200)]
    pages = words(as_pdf(facts(), lines(rows)))
    assert len(pages) > 3
    at = 0
    whole = " ".join(pages)
    for number, row in enumerate(rows, start=1):
        said = " ".join((f"A {number}", *row))
        assert whole.find(said, at) >= at, said
        at = whole.find(said, at)
        assert sum(said in page for page in pages) == 1


@pytest.mark.parametrize("name", [*PEOPLE, *HARMLESS])
def test_names_of_any_latin_spelling_and_names_full_of_marks_come_out_as_they_are(name: str) -> None:
    (page,) = words(as_pdf(facts(), lines([("05:30", name, "BG0001K")])))
    assert squeezed(name) in squeezed(page)
    assert BY_HAND not in page


def test_letters_that_the_type_lacks_are_left_to_the_pen_and_only_that_page_says_so() -> None:
    rows = [("05:30", "Ana", "BG0001K")] * 60 + [("05:31", "Bruce 李小龙", "BG0002K")]
    *others, last = words(as_pdf(facts(), lines(rows)))
    assert f"Bruce {BY_HAND}" in last and "write them by hand" in last
    assert others and not any(BY_HAND in page for page in others)


def test_heads_stand_on_every_page_and_pages_are_counted() -> None:
    pages = words(as_pdf(facts(), lines([("05:30", "Ana", "BG0001K")] * 300)))
    for number, page in enumerate(pages, start=1):
        assert "Line At Picker Piece" in page and "Lent" in page and "16 November 2026" in page
        assert f"page {number} of {len(pages)}" in page


def test_no_row_is_split_over_pages() -> None:
    chance = Random(7)
    rows = [(f"first{n}x", " ".join(["word"] * chance.randint(1, 90)), f"last{n}x") for n in range(80)]
    pages = words(as_pdf(facts(), lines(rows)))
    assert len(pages) > 2
    for number, row in enumerate(rows, start=1):
        (page,) = [page for page in pages if row[0] in page]
        assert row[2] in page and f"A {number} " in page
    assert " ".join(pages).count("word") == sum(row[1].count("word") for row in rows)


def test_a_row_longer_than_a_page_goes_on_and_loses_nothing() -> None:
    note = " ".join(f"w{n}." for n in range(4_000))
    pages = words(
        as_pdf(facts(), lines([("05:30", "Ana", "x"), ("05:31", note, "y"), ("05:32", "Ben", "z")]))
    )
    whole = " ".join(pages)
    assert [n for n in range(4_000) if f"w{n}." not in whole] == []
    assert "05:32 Ben z" in whole


def test_a_word_wider_than_its_column_is_broken_not_cut() -> None:
    word = "Rindfleischetikettierung" * 9
    (page,) = words(as_pdf(facts(), lines([("05:30", word, "BG0001K")])))
    assert word in squeezed(page) and "…" not in page


def test_an_empty_register_says_so_plainly() -> None:
    (page,) = words(as_pdf(facts(register(daily=True)), []))
    assert "No line: the book has nothing of it in these days." in page
    assert "7 days without an entry: 16 Nov 2026, 17 Nov 2026" in page


def test_days_without_an_entry_are_counted_until_the_printing() -> None:
    daily = facts(register(daily=True))
    rows = [line(1, "a", "b", "c"), line(2, "a", "b", "c", at=START + timedelta(days=3))]
    (page,) = words(as_pdf(daily, rows))
    assert "5 days without an entry: 17 Nov 2026, 18 Nov 2026, 20 Nov 2026, 21 Nov 2026, 22 Nov 2026." in page
    (page,) = words(as_pdf(replace(daily, at=START + timedelta(days=3)), rows))
    assert "2 days without an entry: 17 Nov 2026, 18 Nov 2026." in page
    (page,) = words(as_pdf(replace(daily, asked=Asked(MONDAY, MONDAY)), rows[:1]))
    assert "No day without an entry." in page
    (page,) = words(as_pdf(facts(), rows))
    assert "without an entry" not in page


def test_ten_years_without_an_entry_are_not_named_day_by_day() -> None:
    asked = Asked(MONDAY.replace(year=2016), SUNDAY)
    (page,) = words(as_pdf(facts(register(daily=True), asked=asked), []))
    assert "3659 days without an entry: 16 Nov 2016" in page and f"and {3659 - MOST_DAYS} more" in page


def test_paper_is_a4_or_letter_and_turned_where_the_columns_ask_for_it(settings) -> None:
    wide = register(*(f"Column {n}" for n in range(10)))
    row = lines([["x"] * 10])
    assert sizes(as_pdf(facts(), [])) == {(210, 297)}
    assert sizes(as_pdf(facts(), [], "Letter")) == {(215.9, 279.4)}
    assert sizes(as_pdf(facts(wide), row)) == {(297, 210)}
    settings.PAPER_SIZE = "Letter"
    assert sizes(as_pdf(facts(wide), row)) == {(279.4, 215.9)}
    assert sizes(as_pdf(facts(wide), row, "A4")) == {(297, 210)}


@pytest.mark.parametrize("base", ["", "https://book.rooikrans.example"])
def test_the_symbol_on_every_page_names_the_printing_and_its_digest(settings, base: str) -> None:
    settings.LABEL_URL_BASE = base
    pages = scanned_by_page(as_pdf(facts(), lines([("05:30", "Ana", "x")] * 60)), dpi=150)
    assert len(pages) > 1
    for page in pages:
        (read,) = page
        assert printed.parse(read) == printed.Printed(CODE, DIGEST)
        assert read.startswith(base or CODE)


def test_the_foot_of_every_page_names_printing_heads_and_digest_and_the_end_has_them_whole() -> None:
    pages = words(as_pdf(facts(), lines([("05:30", "Ana", "x")] * 60)))
    for page in pages:
        assert CODE in page and "Printed 23 Nov 2026 10:00 by Olga Marais" in page
        assert squeezed(DIGEST) in squeezed(page)
        assert all(f"{store} {position} {digest[:12]}" in page for store, (position, digest) in HEADS.items())
    assert all(digest in squeezed(pages[-1]) for _position, digest in HEADS.values())


def test_a_printing_of_the_server_says_so() -> None:
    (page,) = words(as_pdf(facts(by="", heads={}), []))
    assert "Printed 23 Nov 2026 10:00 by the server" in page and "the book is empty" in page


def test_title_language_and_bookmarks_by_day_or_by_month() -> None:
    rows = [line(n, "a", "b", "c", at=START + timedelta(days=n // 2)) for n in range(6)]
    document = reader(as_pdf(facts(), rows))
    assert document.metadata.title == "Lent, 16 November 2026 to 22 November 2026"
    assert document.trailer["/Root"]["/Lang"] == "en"
    days = [f"{day} November 2026" for day in (16, 17, 18)]
    assert [mark.title for mark in document.outline] == ["Lent", *days, "Totals and signatures"]
    rows = [line(n, "a", "b", "c", at=START + timedelta(days=10 * n)) for n in range(6)]
    months = reader(as_pdf(facts(asked=Asked(MONDAY, MONDAY + timedelta(days=90))), rows)).outline
    wanted = ["Lent", "November 2026", "December 2026", "January 2027", "Totals and signatures"]
    assert [mark.title for mark in months] == wanted


def test_every_face_is_embedded() -> None:
    document = reader(as_pdf(facts(), lines([("05:30", PEOPLE[5], "BG0001K")])))
    used = [font.get_object() for font in document.pages[0]["/Resources"]["/Font"].values()]
    assert len(used) >= 3 and all("/FontFile2" in font["/FontDescriptor"] for font in used)


def test_who_signs_and_what_it_adds_up_to_stand_together_at_the_end() -> None:
    signed = register(signatures=("Storeman", "Supervisor"))
    for count in range(20, 34):
        pages = words(as_pdf(facts(signed), lines([("05:30", "Ana", "x")] * count)))
        last = pages[-1]
        assert f"{count} lines." in last and "Storeman" in last and "Supervisor" in last
        assert last.count("Signature") == 2 and HEADS["B"][1] in squeezed(last)


def test_a_place_to_sign_has_room_and_is_no_cell() -> None:
    signed = replace(register(), columns=(*register().columns, Column("signed", "Signature", sign=True)))
    rows = lines([("05:30", "Ana", "x")] * 200)
    assert len(words(as_pdf(facts(signed), rows))) > len(words(as_pdf(facts(), rows)))


def test_notes_and_cautions_stand_under_the_title() -> None:
    told = register(notes=("Not proof of a debt.",), cautions=("ladder", "bleach", "ladder"))
    (page,) = words(as_pdf(facts(told), []))
    assert "Not proof of a debt." in page
    assert page.count("Nobody climbs a ladder that is set aside") == 1
    assert "Bleach into water, never water into bleach." in page
    assert "The label, the safety sheet, the maker's instructions and local law come before" in page
    assert "•" not in words(as_pdf(facts(), []))[0]


def test_the_farm_heads_its_paper(settings) -> None:
    settings.FARM_NAME, settings.FARM_HEADER = "Rooikrans Estate", "Plot 12 | 013 555 0101"
    (page,) = words(as_pdf(facts(), []))
    assert "Rooikrans Estate Plot 12 013 555 0101 Lent" in page
