"""What a stocktake makes of a piece, as a table: common practice of counting a store."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from equipment.domain.stocktake import OF_UNKNOWN, SETTLED, STANDINGS, SURPRISES, WAYS, Piece, standing

BEGUN = datetime(2026, 6, 1, 6, tzinfo=UTC)


def at(minutes: int) -> datetime:
    return BEGUN + timedelta(minutes=minutes)


LYING = Piece(expected=True, here=True, place="store", since=at(-60))
OUT = Piece(expected=False, here=False, place="picker", since=at(-60))
MISSED = Piece(expected=True, here=False, place="missing", since=at(20), settled_at=at(20))


@pytest.mark.parametrize(
    ("piece", "wanted"),
    [
        (LYING, "left"),
        (replace(LYING, seen_at=at(5)), "seen"),
        (replace(LYING, expected=False, seen_at=at(5)), "seen"),  # came meanwhile
        (replace(LYING, expected=False), "aside"),
        # Handed out meanwhile: nobody accuses it.
        (replace(LYING, here=False, place="picker", since=at(5)), "elsewhere"),
        (replace(LYING, here=False, place="picker", since=at(9), seen_at=at(5)), "seen"),
        # Seen, but the book has it elsewhere.
        (replace(OUT, seen_at=at(5)), "out"),
        (replace(OUT, seen_at=at(5), place="crew"), "out"),
        (replace(OUT, seen_at=at(5), place="orchard"), "out"),
        (replace(OUT, seen_at=at(5), place="store"), "other_store"),
        (replace(OUT, seen_at=at(5), place="bench"), "other_store"),
        (replace(OUT, seen_at=at(5), place="missing"), "missing"),
        (replace(OUT, seen_at=at(5), place="gone"), "gone"),
        (replace(OUT, seen_at=at(5), place="gone", since=None), "gone"),
        (replace(OUT, seen_at=at(5), expected=True, since=at(3)), "out"),
        # Settled; scanned again after it, all is open again.
        (replace(OUT, seen_at=at(5), settled_at=at(6)), "settled"),
        (replace(OUT, seen_at=at(7), settled_at=at(6)), "out"),
        (MISSED, "settled"),
        (replace(MISSED, seen_at=at(25)), "missing"),
        # Marked missing by somebody who could not know of a scan that waited for the line.
        (replace(MISSED, seen_at=at(15), told_late=True), "missing"),
        (replace(MISSED, seen_at=at(15)), "settled"),
        # Marked missing, and then it lay here after all.
        (replace(MISSED, here=True, place="store", since=at(30)), "left"),
        (replace(LYING, seen_at=at(5), settled_at=at(20), told_late=True), "seen"),
    ],
)
def test_what_a_piece_is_at_a_stocktake(piece: Piece, wanted: str) -> None:
    assert standing(piece) == wanted


def test_every_open_standing_can_be_settled_and_every_choice_has_its_words() -> None:
    assert set(WAYS) == {"left", *SURPRISES}
    assert all(len(choices) >= 2 for choices in WAYS.values())
    for choice in (*OF_UNKNOWN, *(each for choices in WAYS.values() for each in choices)):
        said = (
            choice.name
            if choice.verb in ("settled", "reversed", "registered", "retagged", "")
            else choice.verb
        )
        assert choice.verb == "seen" or said in SETTLED
    assert {"seen", "elsewhere", "settled", "unknown", *WAYS} == set(STANDINGS)
