"""Badges, day cards, set tags and crew tags: ten to a sheet, read by scanner and by eye."""

import pytest

from equipment.documents.cards import BadgeRow, TagRow, crew_tags, picker_badges, set_tags
from equipment.documents.fonts import BY_HAND
from equipment.documents.labels import Start
from equipment.documents.layouts import CARDS
from equipment.domain import codes
from tests.documents.reading import pictures, reader, scanned, scanned_by_page, sizes, words

FARM = "Rooikrans Estate"
NAMES = [
    "Thandi Nkosi",
    "Nguyễn Thị Minh Khai",
    "Łukasz Wiśniewski-Brzęczyszczykiewicz",
    "João da Conceição Gonçalves de Albuquerque e Silva",
    "ǃXóõ ǀKhomani ǂAunin ʘ",
    "Tendai Chikwanha-Mupfumira Nyasha Rutendo Tafadzwanashe Kudakwashe",
]


def badge(number: int, name: str = "Thandi Nkosi", day_card: bool = False) -> BadgeRow:
    return BadgeRow(codes.make(codes.BADGE, number), name, "Valley crew", day_card)


def test_badges_are_read_ten_to_a_sheet() -> None:
    rows = [badge(n if n % 2 else 9_000_000 + n) for n in range(13)]
    pdf = picker_badges(rows, FARM)
    assert scanned_by_page(pdf) == [{r.code for r in rows[:10]}, {r.code for r in rows[10:]}]
    assert sizes(pdf) == {(210, 297)} and pictures(pdf) == 0
    assert "page 1 of 2" in words(pdf)[0] and reader(pdf).metadata.title == "Badges"


def test_a_card_has_the_size_of_a_bank_card() -> None:
    # ISO/IEC 7810 ID-1: 85.60 x 53.98 mm (from memory).
    assert (CARDS.width, CARDS.height) == pytest.approx((85.60, 53.98), abs=0.05)


@pytest.mark.parametrize("name", NAMES)
def test_a_name_is_printed_whole(name: str) -> None:
    (page,) = words(picker_badges([badge(1, name)], FARM))
    assert name.replace(" ", "") in page.replace(" ", "")
    assert all(word in page for word in (FARM, "Picker", "Valley crew", badge(1).code))


def test_a_name_without_end_is_cut_and_harms_nothing_else() -> None:
    row = badge(1, "Nkosi " * 60)
    pdf = picker_badges([row], FARM)
    assert "…" in words(pdf)[0] and "Valley crew" in words(pdf)[0]
    assert scanned(pdf) == {row.code: 1}


def test_a_name_in_another_script_leaves_a_line_to_write_on() -> None:
    other, mixed = words(
        picker_badges([badge(n, "李小龙") for n in range(10)] + [badge(10, "Bruce 李小龙")], FARM)
    )
    assert "write by hand" in other and "write by hand" in mixed
    assert f"Bruce {BY_HAND}" in mixed


def test_a_day_card_has_lines_for_name_and_day() -> None:
    row = badge(7, name="Nobody", day_card=True)
    pdf = picker_badges([row], FARM)
    (page,) = words(pdf)
    assert all(word in page for word in ("Day card", "Name", "Day", row.code, FARM))
    assert "Nobody" not in page and "Picker" not in page
    assert scanned(pdf) == {row.code: 1}


@pytest.mark.parametrize(
    ("make", "prefix", "what"), [(set_tags, codes.SET, "Set"), (crew_tags, codes.CREW, "Crew")]
)
def test_set_and_crew_tags(make, prefix: str, what: str) -> None:
    rows = [TagRow(codes.make(prefix, n), f"Number {n}", "one line more") for n in range(1, 11)]
    pdf = make(rows, FARM)
    assert scanned(pdf) == {row.code: 1 for row in rows}
    (page,) = words(pdf)
    assert all(text in page for row in rows for text in (row.code, row.name)) and what in page
    assert page.count("one line more") == 10


def test_cards_start_on_a_used_sheet() -> None:
    rows = [badge(n) for n in range(3)]
    assert [len(page) for page in scanned_by_page(picker_badges(rows, FARM, Start(9)))] == [2, 1]
