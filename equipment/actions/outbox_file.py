"""The file that a phone writes its outbox to: JSON Lines, so that of half a file each whole line still counts.

The first line says whose outbox it is, the last how much there was:

    {"outbox": 1, "device", "exported_at", "clock": ms to add to its times or null, "entries", "photos"}
    {"entry": {as `POST /api/entries/` takes it}, "by": {"id", "initials"}, "store"}
    {"photo": sha256, "type", "data": base64, "by": {"id", "initials"}}
    {"end": {"entries": n, "photos": n}}
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from typing import Annotated, Any, Literal
from uuid import UUID

from pydantic import Base64Bytes, BaseModel, ConfigDict, Field, TypeAdapter, ValidationError

# A clock that is further off than this was never set; adding so much would leave all calendars.
MOST_OFF_MS = 200 * 365 * 86_400_000


class NoOutbox(ValueError):
    """The file is not one that a phone wrote its outbox to."""


class Line(BaseModel):
    model_config = ConfigDict(frozen=True)


class Head(Line):
    outbox: Literal[1]
    device: UUID
    clock: Annotated[float, Field(ge=-MOST_OFF_MS, le=MOST_OFF_MS, allow_inf_nan=False)] | None
    entries: int
    photos: int


class Author(Line):
    """An older Shedbook's phones wrote the name."""

    id: int
    initials: str | None = None
    name: str = ""

    @property
    def called(self) -> str:
        return self.name or self.initials or str(self.id)


class EntryLine(Line):
    entry: dict[str, Any]
    by: Author
    store: str | None = None


class PhotoLine(Line):
    photo: str
    data: Base64Bytes
    by: Author


class Counts(Line):
    entries: int
    photos: int


class End(Line):
    end: Counts


LINE: TypeAdapter[EntryLine | PhotoLine | End] = TypeAdapter(EntryLine | PhotoLine | End)


@dataclass(frozen=True, slots=True)
class OutboxFile:
    """`unread` are the numbers of lines that say nothing, from 1; `missing` counts the entries and photos that the
    phone wrote and that are not here, `torn` says that the file's end is."""

    device: UUID
    clock: timedelta
    entries: tuple[EntryLine, ...]
    photos: tuple[PhotoLine, ...]
    unread: tuple[int, ...]
    missing: int
    torn: bool


def read(data: bytes) -> OutboxFile:
    """What can be read of the file, entries in the order of the device's count. Raises NoOutbox."""
    lines = data.splitlines()
    try:
        head = Head.model_validate_json(lines[0])
    except (IndexError, ValidationError):
        raise NoOutbox from None
    unread: list[int] = []
    found = list(_lines(lines, unread))
    entries = [line for line in found if isinstance(line, EntryLine)]
    photos = [line for line in found if isinstance(line, PhotoLine)]
    return OutboxFile(
        device=head.device,
        clock=timedelta(milliseconds=head.clock or 0),
        entries=tuple(sorted(entries, key=_seq)),
        photos=tuple(photos),
        unread=tuple(unread),
        missing=max(0, head.entries - len(entries)) + max(0, head.photos - len(photos)),
        torn=not any(isinstance(line, End) for line in found),
    )


def _lines(lines: list[bytes], unread: list[int]) -> Iterator[EntryLine | PhotoLine | End]:
    for number, line in enumerate(lines[1:], start=2):
        if not line.strip():
            continue
        try:
            # Not by pydantic's own reader: numbers must come to the book exactly as the API would have read them.
            yield LINE.validate_python(json.loads(line))
        except (ValueError, RecursionError):
            unread.append(number)


def _seq(line: EntryLine) -> int:
    seq = line.entry.get("device_seq")
    return seq if isinstance(seq, int) else 0
