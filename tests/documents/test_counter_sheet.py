"""The page of counter tags."""

from equipment.documents.counter_sheet import counter_tags
from equipment.domain.counter_tags import COUNTER_TAGS
from tests.documents.reading import reader, scanned, sizes, words


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
