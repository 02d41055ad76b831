"""The seal on each line of the book.

digest = SHA-256(previous digest in that store, as 32 bytes, followed by the entry's columns as RFC 8785 JSON): absent
columns omitted, UUIDs lower case, times `YYYY-MM-DDTHH:MM:SS.ffffffZ`, non-integers as decimal strings.
"""

import hashlib
from collections.abc import Mapping
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

import rfc8785

START = "0" * 64
COLUMNS = (
    "id v store position verb detail item crew bath picker block act by device device_seq "
    "happened_at claimed_at recorded_at note_digest sent_digest"
).split()


def plain(value: Any) -> Any:
    """`value` as JSON that has one spelling only."""
    if isinstance(value, str | bool | int) or value is None:
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
    return rfc8785.dumps({name: plain(value) for name, value in columns.items() if value is not None})


def seal(previous: str, columns: Mapping[str, Any]) -> str:
    """The digest of an entry, 64 hex digits; `previous` is `START` for the first of a store."""
    return hashlib.sha256(bytes.fromhex(previous) + canonical(columns)).hexdigest()


def note_digest(salt: str, text: str) -> str:
    """What the chain holds of a note: SHA-256 over the salt (hex, as ASCII) and the text (UTF-8)."""
    return hashlib.sha256(salt.encode() + text.encode()).hexdigest()
