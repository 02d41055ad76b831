"""The seal on each line of the book.

digest = SHA-256(previous digest in that store, as 32 bytes, followed by the entry's columns as RFC 8785 JSON): absent
columns omitted, UUIDs lower case, times `YYYY-MM-DDTHH:MM:SS.ffffffZ`, non-integers as decimal strings.
"""

import hashlib
import json
from collections.abc import Mapping
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

import rfc8785

START = "0" * 64
COLUMNS = (
    "id v store position verb detail item crew bath lot picker block act by device device_seq "
    "happened_at claimed_at recorded_at note_digest sent_digest"
).split()


SAFE_INTEGER = 2**53 - 1
# What the book nearly always holds needs no change.
_AS_IT_IS = frozenset({str, bool, type(None)})


def plain(value: Any) -> Any:
    """`value` as JSON that has one spelling only. Raises ValueError for a whole number that a reader may round."""
    if type(value) in _AS_IT_IS:
        return value
    if isinstance(value, int):
        if abs(value) > SAFE_INTEGER:
            raise ValueError(f"{value} is too large for JSON")
        return value
    if isinstance(value, str):
        return value
    if isinstance(value, UUID):
        return str(value)
    if isinstance(value, datetime):
        # Not strftime: it pads the year on some systems only.
        return value.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"
    if isinstance(value, Decimal | float):
        return format(Decimal(str(value)), "f")
    if isinstance(value, Mapping):
        return {str(key): plain(inner) for key, inner in value.items()}
    return [plain(inner) for inner in value]


def canonical(columns: Mapping[str, Any]) -> bytes:
    """RFC 8785 JSON of the columns that are present."""
    return _written({name: plain(value) for name, value in columns.items() if value is not None})


def written(value: Mapping[str, Any]) -> bytes:
    """RFC 8785 JSON of a JSON object whose whole numbers are no larger than `SAFE_INTEGER`.

    In ASCII and without a number that has a point, Python's own encoder, which is in C, writes the very same; the
    library knows the rest.
    """
    return _written(value) if _without_a_point(value) else rfc8785.dumps(dict(value))


def _written(value: Mapping[str, Any]) -> bytes:
    text = json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return text.encode() if text.isascii() else rfc8785.dumps(dict(value))


def _without_a_point(value: Any) -> bool:
    if isinstance(value, dict):
        return all(map(_without_a_point, value.values()))
    if isinstance(value, list):
        return all(map(_without_a_point, value))
    return not isinstance(value, float)


def seal(previous: str, columns: Mapping[str, Any]) -> str:
    """The digest of an entry, 64 hex digits; `previous` is `START` for the first of a store."""
    return seal_of(previous, canonical(columns))


def seal_of(previous: str, written: bytes) -> str:
    """`seal` of columns that are written as `canonical` writes them."""
    return hashlib.sha256(bytes.fromhex(previous) + written).hexdigest()


def note_digest(salt: str, text: str) -> str:
    """What the chain holds of a note: SHA-256 over the salt (hex, as ASCII) and the text (UTF-8)."""
    return hashlib.sha256(salt.encode() + text.encode()).hexdigest()
