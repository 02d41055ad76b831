"""The page of counter tags, and the pages of fault tags."""

import pytest

from equipment import catalogue
from equipment.documents.counter_sheet import counter_tags
from equipment.documents.fault_sheet import FaultRow, KindSheet, fault_tags
from equipment.domain import fault_tags as tags
from equipment.domain.counter_tags import COUNTER_TAGS
from tests.documents.reading import reader, scanned, scanned_by_page, sizes, words


def test_one_page_with_every_tag_its_words_and_its_key() -> None:
    pdf = counter_tags("Rooikrans Estate")
    (page,) = words(pdf)
    assert scanned(pdf) == {tag.code: 1 for tag in COUNTER_TAGS.values()}
    assert sizes(pdf) == {(210, 297)} and reader(pdf).metadata.title == "Counter tags"
    for tag in COUNTER_TAGS.values():
        assert all(text in page for text in (tag.words, tag.key, tag.code))


def test_it_is_read_from_across_the_counter() -> None:
    """Drawn at 50 dots to the inch: what a camera sees from far off."""
    assert len(scanned(counter_tags("Rooikrans Estate"), dpi=50)) == len(COUNTER_TAGS)


def sheet(kind: str) -> KindSheet:
    faults = [fault for fault in catalogue.load().fault if fault.can_be_on(kind)]
    return KindSheet(kind, [FaultRow(tags.code(f.code), f.name, f.look_for) for f in faults])


@pytest.mark.parametrize(("kind", "pages"), [("clippers", 1), ("bag", 1), ("ladder", 2)])
def test_every_fault_of_a_kind_has_a_tag_with_what_to_look_for(kind: str, pages: int) -> None:
    asked = sheet(kind)
    pdf = fault_tags([asked], "Rooikrans Estate")
    assert scanned(pdf) == {row.code: 1 for row in asked.faults}
    assert len(words(pdf)) == pages
    text = " ".join(words(pdf))
    for row in asked.faults:
        assert all(said in text for said in (row.name, row.look_for, row.code))


def test_each_kind_begins_a_page() -> None:
    kinds = [sheet("clippers"), sheet("goggles")]
    pages = scanned_by_page(fault_tags(kinds, "Rooikrans Estate"))
    assert pages == [{row.code for row in each.faults} for each in kinds]


def test_fault_tags_are_read_from_across_the_counter() -> None:
    asked = sheet("ladder")
    assert len(scanned(fault_tags([asked], "Rooikrans Estate"), dpi=50)) == len(asked.faults)


def test_fault_tags_of_nothing() -> None:
    with pytest.raises(ValueError, match="Choose a kind"):
        fault_tags([], "Rooikrans Estate")
