"""The slip that an unfit piece wears: read back as paper, words and symbols."""

from datetime import datetime

import pytest

from equipment.documents.do_not_use import DoNotUse, Wrong, do_not_use_slips
from equipment.domain import codes
from tests.documents.reading import drawn, pictures, reader, scanned, scanned_by_page, sizes, words

FARM = "Rooikrans Estate"
FOUND = datetime(2026, 3, 12, 6, 10)
CAUTIONS = (
    "Nobody climbs a ladder that is set aside, not even to try it: it is tried under load on the ground.",
    "The maker's instructions and local law come first.",
)
LOOSE = Wrong("Loose rung", FOUND, "Rosa Mabena", "Never nail, wire or tie it.")


def slip(number: int, *wrongs: Wrong, **fields) -> DoNotUse:
    return DoNotUse(codes.make("LD", number), "Ladder, Trapmaat, 3 m", wrongs or (LOOSE,), **fields)


def test_it_says_what_and_what_is_wrong_and_by_whom_it_was_found() -> None:
    one = slip(7, passing="Somebody other than the mender passes it.", cautions=CAUTIONS)
    pdf = do_not_use_slips([one], FARM)
    (page,) = words(pdf)
    for text in (
        "DO NOT USE",
        "Do not take this slip off before the piece is passed.",
        one.tag,
        one.what,
        "Loose rung",
        "found 12 March 2026 06:10 by Rosa Mabena",
        "Never nail, wire or tie it.",
        "Mended by",
        "Passed by",
        one.passing,
        FARM,
    ):
        assert text in page, text
    assert all(word in page for caution in CAUTIONS for word in caution.split())
    assert sizes(pdf) == {(210, 297)} and reader(pdf).metadata.title == "Do not use"


def test_its_symbol_reads_back_as_the_tag() -> None:
    slips = [slip(number) for number in range(1, 10)]
    pdf = do_not_use_slips(slips, FARM)
    assert scanned(pdf) == {each.tag: 1 for each in slips}
    assert [len(page) for page in scanned_by_page(pdf)] == [4, 4, 1]


def test_its_symbol_may_be_an_address() -> None:
    one = slip(7)
    assert set(scanned(do_not_use_slips([one], FARM, "https://shed.example"))) == {
        f"https://shed.example/t/{one.tag}"
    }


def test_black_and_white_says_it_all() -> None:
    """Nothing is drawn in a colour: every point of the page is as red as it is green and blue."""
    pdf = do_not_use_slips([slip(7, cautions=CAUTIONS)], FARM)
    (page,) = drawn(pdf, 100)
    assert page.mode == "L" and pictures(pdf) == 0
    operators = reader(pdf).pages[0].get_contents().get_data().decode("latin-1").split("\n")
    colours = {line for line in operators if line.endswith((" rg", " RG"))}
    assert all(len(set(line.split()[:3])) == 1 for line in colours) and colours


def test_the_band_is_dark_and_half_the_words_stand_in_it() -> None:
    (page,) = drawn(do_not_use_slips([slip(7)], FARM), 100)
    band = page.crop((65, 65, 370, 115))
    dark = sum(band.histogram()[:64]) / (band.width * band.height)
    assert 0.4 < dark < 0.95  # black ground, white letters


@pytest.mark.parametrize("count", [2, 3, 6, 12])
def test_what_finds_no_room_is_counted(count: int) -> None:
    wrongs = [Wrong(f"Fault number {n}", FOUND, "Rosa") for n in range(count)]
    (page,) = words(do_not_use_slips([slip(7, *wrongs, cautions=CAUTIONS * 2)], FARM))
    shown = page.count("Fault number")
    assert shown >= 2
    assert (f"and {count - shown} more: see its page" in page) == (shown < count)


def test_cautions_are_never_what_is_left_off() -> None:
    wrongs = [Wrong(f"Fault number {n}", FOUND, "Rosa", "Never so.") for n in range(9)]
    (page,) = words(do_not_use_slips([slip(7, *wrongs, cautions=CAUTIONS)], FARM))
    assert "Nobody climbs" in page and "local law come first" in page


def test_nothing_runs_out_of_its_slip() -> None:
    long = "a crack along the side rail under the paint beside the third rung " * 6
    one = DoNotUse(codes.make("LD", 1234567), long, (Wrong(long, FOUND, long, long),) * 5, long, (long,) * 4)
    (page,) = drawn(do_not_use_slips([one], FARM), 100)
    right_of_it = page.crop((418, 60, 780, 1090))  # 100 dots an inch: the slip ends 105 mm from the left
    empty = drawn(do_not_use_slips([slip(7)], FARM), 100)[0].crop((418, 60, 780, 1090))
    assert right_of_it.histogram() == empty.histogram()  # the cutting lines alone


def test_nothing_to_print_is_said() -> None:
    with pytest.raises(ValueError, match="nothing to print"):
        do_not_use_slips([], FARM)
