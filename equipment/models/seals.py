"""The book as it was sealed, read straight from the columns: for following a chain of millions of entries.

To make a model of each row and spell it out again costs four times as much as all else of it. What is spelled here is
RFC 8785 JSON as `domain.chain` writes it, for rows that hold nothing out of the ordinary; of any other nothing is said,
and whoever follows the chain reads that one by its model. Each text is quoted or has one length only, so that no row
is spelled as another one.
"""

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from django.db import connection

from equipment.domain import chain

FETCHED_AT_ONCE = 2_000
PLAIN = "position, digest, device_seq, v, picker_id, by_id, detail, block_id, crew_id, verb, note_digest, sent_digest"
UUIDS = "id device_id item_id act bath lot".split()
TIMES = "happened_at recorded_at claimed_at".split()
# As text: what the drivers make of ids and times costs more than all the spelling.
_SQLITE = [*UUIDS, *(f"CAST({name} AS text)" for name in TIMES)]
_POSTGRESQL = [f"{name}::text" for name in UUIDS] + [
    f"""to_char({name} AT TIME ZONE 'UTC', 'YYYY-MM-DD"T"HH24:MI:SS.US"Z"')""" for name in TIMES
]
ROWS = """
SELECT {columns} FROM equipment_entry WHERE store_id = %s AND position > %s AND position <= %s ORDER BY position
"""


@dataclass(frozen=True, slots=True)
class Sealed:
    """`canonical` is what was sealed, beside the digest before it; None where the row must be read by its model."""

    position: int
    digest: str
    canonical: bytes | None
    noted: bool


def sealed(store: str, after: int, last: int) -> Iterator[Sealed]:
    """The entries of a store at positions above `after` up to `last`, in order."""
    lite = connection.vendor == "sqlite"
    columns = ", ".join([PLAIN, *(_SQLITE if lite else _POSTGRESQL)])
    spelled = _Spelled(store, _dashed if lite else _as_it_is(36), _moment if lite else _as_it_is(27))
    with connection.cursor() as cursor:
        cursor.execute(ROWS.format(columns=columns), [store, after, last])
        while rows := cursor.fetchmany(FETCHED_AT_ONCE):
            for row in rows:
                yield Sealed(row[0], row[1], spelled.canonical(row), row[10] is not None)


class _Spelled:
    def __init__(self, store: str, uuid: Callable[[str], str], time: Callable[[str], str]) -> None:
        self._store, self._uuid, self._time = _quoted(store), uuid, time
        # Nearly all are of a few devices and items.
        self._known = lru_cache(20_000)(uuid)

    def canonical(self, row: tuple[Any, ...]) -> bytes | None:
        """In the order of the alphabet, the absent ones left out."""
        place, _digest, seq, v, picker, by, detail, block, crew, verb, noted, sent = row[:12]
        own, device, item, act, bath, lot, happened, recorded, claimed = row[12:]
        known, time = self._known, self._time
        try:
            text = (
                f"{{{_field('act', act, self._uuid)}{_field('bath', bath, known)}{_field('block', block, _quoted)}"
                f'"by":{by:d},{_field("claimed_at", claimed, time)}{_field("crew", crew, _quoted)}'
                f'"detail":{_detail(detail)},"device":{known(device)},"device_seq":{seq:d},'
                f'"happened_at":{time(happened)},"id":{self._uuid(own)},{_field("item", item, known)}'
                f"{_field('lot', lot, known)}{_field('note_digest', noted, _hexed)}{_field('picker', picker, _whole)}"
                f'"position":{place:d},"recorded_at":{time(recorded)},{_field("sent_digest", sent, _hexed)}'
                f'"store":{self._store},"v":{v:d},"verb":{_quoted(verb)}}}'
            )
            return text.encode("ascii")
        except (ValueError, TypeError):
            return None


def _field(name: str, value: Any, spell: Callable[[Any], str]) -> str:
    return "" if value is None else f'"{name}":{spell(value)},'


@lru_cache(20_000)
def _quoted(text: str) -> str:
    return json.dumps(_text(text), ensure_ascii=False)


@lru_cache(20_000)
def _detail(text: str) -> str:
    """Raises ValueError for what is no object."""
    value = json.loads(_text(text))
    if not isinstance(value, dict):
        raise ValueError(text)
    return chain.written(chain.plain(value)).decode()


def _text(value: Any) -> str:
    if not isinstance(value, str):
        raise TypeError(value)
    return value


def _whole(number: int) -> str:
    return f"{number:d}"


def _hexed(text: str) -> str:
    return _long(text, 64)


def _dashed(text: str) -> str:
    """As SQLite keeps an id: 32 hexadecimal digits."""
    quoted = _long(text, 32)
    return f"{quoted[:9]}-{quoted[9:13]}-{quoted[13:17]}-{quoted[17:21]}-{quoted[21:]}"


def _moment(text: str) -> str:
    """As SQLite keeps a time: UTC, without the microseconds where there are none."""
    if len(text) == 19:
        text += ".000000"
    if len(text) != 26 or text[10] != " ":
        raise ValueError(text)
    return f'"{text[:10]}T{text[11:]}Z"'


def _as_it_is(length: int) -> Callable[[str], str]:
    return lambda text: _long(text, length)


def _long(text: str, length: int) -> str:
    if len(_text(text)) != length:
        raise ValueError(text)
    return f'"{text}"'
