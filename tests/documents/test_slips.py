"""A leaver's clearance slip, and the list of what to collect."""

from datetime import date

import pytest

from equipment.documents.fonts import BY_HAND
from equipment.documents.slips import (
    ClearanceSlip,
    Collection,
    HeldPiece,
    Piece,
    clearance_slips,
    collection_list,
)
from equipment.domain import codes
from tests.documents.reading import reader, sizes, words

FARM = "Rooikrans Estate"
LAST_DAY = date(2025, 9, 30)


def piece(number: int, kind: str = "Picking bag", prefix: str = "BG") -> Piece:
    return Piece(kind, codes.make(prefix, number), date(2025, 3, 1 + number % 28))


def slip(out: int = 0, back: int = 0, picker: str = "Thandi Nkosi") -> ClearanceSlip:
    return ClearanceSlip(
        picker,
        codes.make(codes.BADGE, 7),
        "Valley crew",
        LAST_DAY,
        tuple(piece(n) for n in range(out)),
        tuple(piece(n, "Gloves", "GL") for n in range(back)),
    )


def test_a_slip_says_who_what_and_since_when() -> None:
    left = slip(2, 3)
    pdf = clearance_slips([left], FARM)
    (page,) = words(pdf)
    assert all(text in page for text in (left.picker, left.badge, left.crew, "30 September 2025", FARM))
    assert all(p.tag in page for p in (*left.out, *left.back))
    assert "Still out (2)" in page and "Came back (3)" in page and "2 March 2025" in page
    assert sizes(pdf) == {(210, 297)} and reader(pdf).metadata.title == "Clearance slip"


def test_a_slip_is_no_proof_of_a_debt_and_leaves_room_for_the_pickers_side() -> None:
    (page,) = words(clearance_slips([slip(1)], FARM))
    for text in (
        "not proof of a debt",
        "no ground to keep back wages",
        "local law rules",
        "What the picker says",
        "Witness",
    ):
        assert text in page


def test_nothing_out_is_said_in_words() -> None:
    (page,) = words(clearance_slips([slip(0, 0)], FARM))
    assert "Still out (0)" in page and "all that was out in this name has come back" in page


@pytest.mark.parametrize("back", [18, 25, 26, 27, 28, 29, 30, 60])
def test_the_signatures_stand_below_what_they_mean(back: int) -> None:
    pages = words(clearance_slips([slip(3, back)], FARM))
    assert ["not proof of a debt" in page for page in pages] == ["Witness" in page for page in pages]
    assert sum("Witness" in page for page in pages) == 1
    assert all("Thandi Nkosi" in page for page in pages)


def test_heads_are_repeated_and_no_piece_is_lost() -> None:
    left = slip(40, 40)
    pages = words(clearance_slips([left], FARM))
    assert all("Kind Tag" in page for page in pages if "BG0" in page or "GL0" in page)
    assert all(sum(p.tag in page for page in pages) == 1 for p in (*left.out, *left.back))


def test_each_leaver_has_a_page_of_their_own() -> None:
    first, second = words(clearance_slips([slip(1), slip(1, picker="Ana Pérez")], FARM))
    assert "Thandi Nkosi" in first and "Ana" not in first and "Ana Pérez" in second


def test_a_name_in_another_script_is_left_to_the_pen() -> None:
    (page,) = words(clearance_slips([slip(1, picker="李小龙 Bruce")], FARM))
    assert f"{BY_HAND} Bruce" in page and "write by hand" in page


def held(count: int) -> tuple[HeldPiece, ...]:
    return tuple(
        HeldPiece(f"Picker {n // 3:03d}", codes.make(codes.BADGE, n // 3), piece(n, "Overalls", "OV"))
        for n in range(count)
    )


def test_the_collection_list_goes_by_crew_with_each_holder_named_once() -> None:
    crews = [Collection("Valley crew", "Nomvula Dube", held(9)), Collection("Ridge crew", "Petrus", held(3))]
    valley, ridge = words(collection_list(crews, LAST_DAY, FARM))
    assert all(
        text in valley
        for text in ("To collect: Valley crew", "Nomvula Dube", "pieces: 9", "30 September 2025")
    )
    assert [valley.count(f"Picker {n:03d}") for n in range(3)] == [1, 1, 1]
    assert all(one.piece.tag in valley for one in crews[0].held)
    assert "Ridge crew" in ridge and "1 Mar 2025" in ridge


def test_a_holder_is_named_again_on_the_next_page() -> None:
    pages = words(collection_list([Collection("Valley crew", "Nomvula Dube", held(90))], LAST_DAY, FARM))
    assert len(pages) == 3
    for page in pages:
        assert page.index("Picker") < page.index("Overalls") and "Holder Badge Kind Tag Since" in page
    assert all(sum(one.piece.tag in page for page in pages) == 1 for one in held(90))


def test_gear_of_the_crew_itself_has_no_badge_but_a_holder() -> None:
    own = (HeldPiece("Valley crew, shared", "", piece(1, "Ladder", "LD")),)
    (page,) = words(collection_list([Collection("Valley crew", "Nomvula Dube", own)], LAST_DAY, FARM))
    assert "Valley crew, shared" in page


def test_nothing_to_print_is_said() -> None:
    with pytest.raises(ValueError, match="nothing to print"):
        clearance_slips([], FARM)
    with pytest.raises(ValueError, match="nothing to collect"):
        collection_list([], LAST_DAY, FARM)
