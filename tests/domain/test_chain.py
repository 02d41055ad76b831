"""The seal on each line, and the ids of the lines, against what the standards print."""

import hashlib
import json
import struct
from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal
from typing import Any
from uuid import UUID

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from equipment.actions.writing import new_id
from equipment.domain import chain

# RFC 8785, appendix B: IEEE 754 doubles in hexadecimal, and how JSON writes them.
NUMBERS = {
    "0000000000000000": "0",
    "8000000000000000": "0",
    "0000000000000001": "5e-324",
    "8000000000000001": "-5e-324",
    "7fefffffffffffff": "1.7976931348623157e+308",
    "ffefffffffffffff": "-1.7976931348623157e+308",
    "4340000000000000": "9007199254740992",
    "c340000000000000": "-9007199254740992",
    "4430000000000000": "295147905179352830000",
    "44b52d02c7e14af5": "9.999999999999997e+22",
    "44b52d02c7e14af6": "1e+23",
    "44b52d02c7e14af7": "1.0000000000000001e+23",
    "444b1ae4d6e2ef4e": "999999999999999700000",
    "444b1ae4d6e2ef4f": "999999999999999900000",
    "444b1ae4d6e2ef50": "1e+21",
    "3eb0c6f7a0b5ed8c": "9.999999999999997e-7",
    "3eb0c6f7a0b5ed8d": "0.000001",
    "41b3de4355555553": "333333333.3333332",
    "41b3de4355555554": "333333333.33333325",
    "41b3de4355555555": "333333333.3333333",
    "41b3de4355555556": "333333333.3333334",
    "41b3de4355555557": "333333333.33333343",
    "becbf647612f3696": "-0.0000033333333333333333",
    "43143ff3c1cb0959": "1424953923781206.2",
}


@pytest.mark.parametrize("double", NUMBERS)
def test_numbers_as_rfc_8785_prints_them(double: str) -> None:
    (number,) = struct.unpack(">d", bytes.fromhex(double))
    assert rfc8785.dumps(number).decode() == NUMBERS[double]


def test_strings_and_literals_as_rfc_8785_prints_them() -> None:
    """Section 3.2.2; its numbers, for the book writes them as decimal strings, by the library alone."""
    sample = json.loads(
        r'{"numbers": [333333333.33333329, 1E30, 4.50, 2e-3, 0.000000000000000000000000001],'
        r' "string": "\u20ac$\u000F\u000aA\u0027\u0042\u0022\u005c\\\"\/", "literals": [null, true, false]}'
    )
    printed = (
        '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
        r'"string":"€$\u000f\nA' + "'" + r'B\"\\\\\"/"}'
    )
    assert rfc8785.dumps(sample) == printed.encode()
    del sample["numbers"]
    assert (
        chain.canonical(sample)
        == printed.replace('"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],', "").encode()
    )


def test_keys_are_sorted_as_rfc_8785_sorts_them() -> None:
    """Section 3.2.3: by UTF-16 code units, not by code points."""
    names = {
        "\u20ac": "Euro Sign",
        "\r": "Carriage Return",
        "\ufb33": "Hebrew Letter Dalet With Dagesh",
        "1": "One",
        "\U0001f600": "Emoji: Grinning Face",
        "\u0080": "Control",
        "\u00f6": "Latin Small Letter O With Diaeresis",
    }
    assert list(json.loads(chain.canonical(names)).values()) == [
        "Carriage Return",
        "One",
        "Control",
        "Latin Small Letter O With Diaeresis",
        "Euro Sign",
        "Emoji: Grinning Face",
        "Hebrew Letter Dalet With Dagesh",
    ]


MOMENT = datetime(2026, 6, 1, 3, 30, 5, 70, tzinfo=UTC)


@pytest.mark.parametrize(
    ("value", "written"),
    [
        (UUID("017F22E2-79B0-7CC3-98C4-DC0C0C07398F"), "017f22e2-79b0-7cc3-98c4-dc0c0c07398f"),
        (MOMENT, "2026-06-01T03:30:05.000070Z"),
        (MOMENT.astimezone(timezone(timedelta(hours=2))), "2026-06-01T03:30:05.000070Z"),
        (datetime(1, 2, 3, tzinfo=UTC), "0001-02-03T00:00:00.000000Z"),
        (Decimal("99.50"), "99.50"),
        (Decimal("1E+2"), "100"),
        (0.00001, "0.00001"),
        (7, 7),
        (True, True),
        ({"a": (1, Decimal("0.5"))}, {"a": [1, "0.5"]}),
    ],
)
def test_each_value_has_one_spelling(value: Any, written: Any) -> None:
    assert chain.plain(value) == written


LINE: dict[str, Any] = {
    "id": UUID("017f22e2-79b0-7cc3-98c4-dc0c0c07398f"),
    "v": 1,
    "store": "A",
    "position": 1,
    "verb": "registered",
    "detail": {"kind": "bag", "store": "A", "tag": "BG0001O", "price": Decimal("99.50")},
    "item": UUID("017f22e2-79b0-7cc3-98c4-dc0c0c07398f"),
    "crew": None,
    "by": 3,
    "device": UUID(int=7),
    "device_seq": 41,
    "happened_at": MOMENT,
    "recorded_at": MOMENT,
}
# Fixed once and for all: whoever changes it makes every printed register untrue.
GOLDEN = "e369d72a51e057ff"


def test_the_digest_of_a_line_never_changes() -> None:
    """Worked out a second time by the standard library alone, and held to the value it had on the first day."""
    columns = {
        **{name: value for name, value in LINE.items() if value is not None},
        "id": str(LINE["id"]),
        "item": str(LINE["item"]),
        "device": str(LINE["device"]),
        "detail": LINE["detail"] | {"price": "99.50"},
        "happened_at": "2026-06-01T03:30:05.000070Z",
        "recorded_at": "2026-06-01T03:30:05.000070Z",
    }
    text = json.dumps(columns, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert chain.seal(chain.START, LINE) == hashlib.sha256(bytes(32) + text.encode()).hexdigest()
    assert chain.seal(chain.START, LINE)[:16] == GOLDEN


@pytest.mark.parametrize("column", LINE)
def test_every_column_is_under_the_seal(column: str) -> None:
    other: Any = {"v": 2, "position": 2, "device_seq": 42, "by": 4}.get(column, "other")
    assert chain.seal(chain.START, LINE | {column: other}) != chain.seal(chain.START, LINE)
    assert chain.seal("1" * 64, LINE) != chain.seal(chain.START, LINE)


def test_absent_and_empty_differ() -> None:
    assert chain.canonical({"note_digest": None}) == b"{}"
    assert chain.canonical({"note_digest": ""}) == b'{"note_digest":""}'


def test_every_column_of_the_entry_is_covered() -> None:
    from equipment.models import Entry

    assert set(chain.COLUMNS) == {field.name for field in Entry._meta.concrete_fields} - {"digest"}


def test_a_note_is_sealed_with_its_salt() -> None:
    sealed = chain.note_digest("00ff", "lost in row nine")
    assert sealed == hashlib.sha256(b"00ff" + b"lost in row nine").hexdigest()
    assert sealed != chain.note_digest("00fe", "lost in row nine")


def test_the_example_of_rfc_9562_is_the_moment_it_says() -> None:
    """017F22E2-79B0-7CC3-98C4-DC0C0C07398F is 2022-02-22T19:22:22Z (appendix A.6)."""
    assert made_at(UUID("017F22E2-79B0-7CC3-98C4-DC0C0C07398F")) == datetime(
        2022, 2, 22, 19, 22, 22, tzinfo=UTC
    )


def made_at(made: UUID) -> datetime:
    """The first 48 bits are milliseconds since 1970 (RFC 9562, section 5.7)."""
    return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(milliseconds=made.int >> 80)


def test_our_ids_are_of_version_seven_and_grow() -> None:
    """Of many made within one millisecond, each counts as a millisecond: the library may run ahead of the clock."""
    before = datetime.now(UTC) - timedelta(seconds=1)
    made = [new_id() for _ in range(1000)]
    assert all((each.version, each.variant) == (7, "specified in RFC 4122") for each in made)
    assert made == sorted(set(made))
    assert before < made_at(made[0]) <= made_at(made[-1]) < datetime.now(UTC) + timedelta(seconds=60)


values = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53) + 1, 2**53 - 1) | st.text(st.characters(codec="utf-8")),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(st.characters(codec="utf-8")), inner),
    max_leaves=8,
)


@given(st.dictionaries(st.text(st.characters(codec="utf-8")), values, max_size=4), st.randoms())
def test_the_order_in_which_columns_are_given_does_not_matter(columns: dict[str, Any], random: Any) -> None:
    names = list(columns)
    random.shuffle(names)
    assert chain.seal(chain.START, {name: columns[name] for name in names}) == chain.seal(
        chain.START, columns
    )
    kept = {name: value for name, value in columns.items() if value is not None}
    assert json.loads(chain.canonical(columns)) == kept


@given(st.dictionaries(st.text(), values, max_size=4))
def test_what_is_written_quickly_is_what_the_library_writes(columns: dict[str, Any]) -> None:
    # Reference library: rfc8785. Letters of any kind, and the control characters that JSON escapes.
    kept = {name: value for name, value in columns.items() if value is not None}
    assert _written(chain.canonical, columns) == _written(rfc8785.dumps, kept)


@given(st.dictionaries(st.text(), values | st.floats(allow_nan=False) | st.lists(st.floats()), max_size=4))
def test_so_is_what_somebody_sent_with_points_in_its_numbers(sent: dict[str, Any]) -> None:
    assert _written(chain.written, sent) == _written(rfc8785.dumps, sent)


def _written(writer: Any, columns: dict[str, Any]) -> bytes | None:
    """None where it refuses: a lone surrogate is no text."""
    try:
        written: bytes = writer(columns)
    except ValueError:
        return None
    return written


@pytest.mark.parametrize("number", [2**53, -(2**53), 10**30])
def test_a_number_that_readers_may_round_is_refused(number: int) -> None:
    with pytest.raises(ValueError, match="too large"):
        chain.canonical({"device_seq": 1, "detail": {"parts": [number]}})
