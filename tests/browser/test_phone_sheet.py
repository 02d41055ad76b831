"""What a phone makes of a sheet beside the clocks: pieces it never heard of, what comes back, who is here, what is
undone."""

from datetime import UTC, datetime
from typing import Any
from uuid import UUID

import pytest

from equipment.domain import codes
from tests.orchard_book import TRADE, Book, sheet
from tests.orchard_days import BADGES, RED, Day
from tests.phone import Phone

ANA, BEN, CY = BADGES
CLIPPERS, BAG, LADDER, STRANGE = (codes.make(*code) for code in (("CL", 1), ("BG", 2), ("LD", 3), ("CL", 77)))
GEAR = {CLIPPERS: "clippers", BAG: "bag", LADDER: "ladder"}
BATH = str(UUID(int=5))


def told(*lines: dict[str, Any]) -> list[dict[str, Any]]:
    """Entries at 05:00, 05:01 ... UTC, which is the afternoon in Brisbane, of one device."""
    return [
        {
            "id": str(UUID(int=number)),
            "happened_at": f"2026-06-01T05:{number:02}:00.000Z",
            "device_seq": number,
            "by": 7,
            "detail": {},
            **line,
        }
        for number, line in enumerate(lines, start=1)
    ]


def out(item: str, picker: str | None = None, **detail: Any) -> dict[str, Any]:
    holder = {"picker": picker} if picker else {"crew": RED}
    return {"verb": "handed_out", "item": item, "detail": detail, **holder}


def asked(phone: Phone, ask: str, *lines: dict[str, Any], before: int = 0) -> Any:
    """`ask` is JavaScript of (day, now, sheet); the first `before` lines are in the book when the sheet is fetched."""
    entries = told(*lines)
    plan = {"date": "2026-06-01", "part": "day", "block": "N4", "clipped": True, "state": "planned"}
    drawn = Day(GEAR, entries, before, datetime(2026, 6, 1, 6, tzinfo=UTC), [plan], trimmed=True)
    book = Book(drawn)
    for entry in entries[:before]:
        book.write(entry)
    body = f"({{day}}, {{sheet, entries}}) => {{ const now = day.apply(sheet, entries); return ({ask}); }}"
    return phone(body, [{"sheet": {**sheet(book, drawn), **TRADE}, "entries": entries[before:]}])[0]


TAGS = ".map((item) => item.tag)"


def test_a_piece_that_no_sheet_has_is_held_by_whoever_got_it(phone: Phone) -> None:
    """Facts are not refused; the phone knows its kind by the tag, and no more."""
    ask = "day.held(now, 1).map(({tag, kind, unknown, state}) => [tag, kind, unknown, state.discrepancies])"
    assert asked(phone, ask, out(STRANGE, ANA)) == [[STRANGE, "clippers", True, []]]
    assert asked(phone, "day.dueList(now, 0)", out(STRANGE, ANA)) == []
    assert asked(phone, f"day.verdict(now, '{STRANGE}', 0)") is None


def test_what_comes_back_tonight(phone: Phone) -> None:
    """Not what was stowed, nor what came back already, nor what another crew has."""
    stowed = {"verb": "stowed", "item": LADDER, "block": "N4", "detail": {"block": "N4", "counted": 1}}
    lines = [out(CLIPPERS, ANA), out(BAG, BEN), out(LADDER), stowed, {"verb": "returned", "item": BAG}]
    for before in (0, 3, 5):
        assert asked(phone, f"day.mustComeBack(now){TAGS}", *lines, before=before) == [CLIPPERS]
    assert asked(phone, f"day.mustComeBack(now){TAGS}", out(CLIPPERS, CY)) == []


def test_spares_are_what_the_crew_has_and_no_picker(phone: Phone) -> None:
    lines = [out(CLIPPERS), out(STRANGE), out(LADDER), out(STRANGE, ANA, **{"from": RED})]
    assert asked(phone, f"day.spares(now, 'clippers'){TAGS}", *lines, before=3) == [CLIPPERS]
    assert sorted(asked(phone, f"day.spares(now){TAGS}", *lines, before=3)) == sorted([CLIPPERS, LADDER])


@pytest.mark.parametrize("before", [0, 1, 2])
def test_who_is_here(phone: Phone, before: int) -> None:
    lines = [out(CLIPPERS, ANA), {"verb": "returned", "item": CLIPPERS}]
    assert asked(phone, "[1, 2].map((picker) => day.isHere(now, picker))", *lines, before=before) == [
        True,
        False,
    ]
    assert asked(phone, "day.isHere(now, 1, '2026-06-02')", *lines, before=before) is False


def test_a_piece_that_stands_in_for_a_kit_line(phone: Phone) -> None:
    ask = "day.missingKit(now, 1).map((line) => line.kind)"
    assert "clippers" in asked(phone, ask, out(BAG, ANA))
    assert "clippers" not in asked(phone, ask, out(BAG, ANA, waived="clippers"))
    assert asked(phone, "day.waivedFor(now, 1, '2026-06-02')", out(BAG, ANA, waived="clippers")) == []


def test_what_was_done_here_is_undone_here(phone: Phone) -> None:
    lines = [out(CLIPPERS, ANA), out(CLIPPERS, BEN, **{"from": ANA})]
    undone = {"verb": "reversed", "item": CLIPPERS, "detail": {"entry": str(UUID(int=2))}}
    ask = "[now.items.find((item) => item.kind === 'clippers').state.picker, now.unfolded]"
    assert asked(phone, ask, *lines, undone) == [1, []]
    # The sheet holds the line that is taken back: only the book can, and the page may say so.
    assert asked(phone, ask, *lines, undone, before=2) == [2, [str(UUID(int=2))]]


def test_a_dip_in_a_bath_that_nobody_here_mixed_does_not_count_yet(phone: Phone) -> None:
    dip = {"method": "sterilise", "recipe": "clippers_daily_bleach", "seconds": 600}
    lines = [out(CLIPPERS, ANA), {"verb": "cleaned", "item": CLIPPERS, "bath": BATH, "detail": dip}]
    ask = f"[day.dipBy(now, 0).cause, day.bathVerdict(now, '{BATH}', 0).why]"
    assert asked(phone, ask, *lines) == ["void", "not_mixed"]
    assert asked(phone, f"day.bathVerdict(now, '{BATH}', 0)") is None


def test_a_code_is_read_as_the_book_reads_it(phone: Phone) -> None:
    lower = {**out(CLIPPERS.lower(), f" {ANA} ")}
    arrived = {"verb": "arrived", "crew": "red", "block": "n4"}
    ask = f"[day.held(now, 1){TAGS}, now.state.visits.map((visit) => visit.block)]"
    assert asked(phone, ask, lower, arrived) == [[CLIPPERS], ["N4"]]


@pytest.mark.parametrize(
    ("text", "micros"),
    [
        ("1970-01-01T00:00:00Z", 0),
        ("2026-06-01T05:30:00.000001Z", 1_780_291_800_000_001),
        ("2026-06-01T15:30:00.5+10:00", 1_780_291_800_500_000),
        ("1969-12-31T23:59:59.999999Z", -1),
    ],
)
def test_times_to_the_microsecond(phone: Phone, text: str, micros: int) -> None:
    """RFC 3339, by what Python's own datetime makes of it."""
    at = datetime.fromisoformat(text)
    assert round((at - datetime(1970, 1, 1, tzinfo=UTC)).total_seconds() * 1e6) == micros
    spelled = at.astimezone(UTC).isoformat().replace("+00:00", "Z")
    assert phone("({time}, text) => [time.micros(text), time.iso(time.micros(text))]", [text]) == [
        [micros, spelled]
    ]


def test_what_is_no_time_is_said(phone: Phone) -> None:
    body = "({time}, text) => { try { return time.micros(text); } catch (error) { return error.name; } }"
    assert (
        phone(body, ["", "yesterday", "2026-06-01", "2026-06-01T05:30:00", "2026-13-01T05:30:00Z"])
        == ["RangeError"] * 5
    )
