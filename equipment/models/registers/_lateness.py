"""How long after it was done a thing was written in the book."""

from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

from equipment.domain.words import gettext_noop
from equipment.models.registers._phrases import word
from equipment.models.registers.base import Cell

# Within the hour the bath still stands there to be tested, and who did it still knows how long; later it is told from
# memory (common practice).
LATE = timedelta(hours=1)
ON_TIME, LATE_WORD, WAITED = "", gettext_noop("late"), gettext_noop("sent late")
RULE = gettext_noop(
    "Late: written in the book more than an hour after it was done. Sent late: by its own clock the phone or counter "
    "was told within that hour, and had no line until then."
)


def recorded(entry: Any) -> Cell:
    """Hours and minutes from its happening to its standing in the book, "0:05"; marked where that is late."""
    minutes = int((entry.recorded_at - entry.happened_at) / timedelta(minutes=1))
    after = f"{minutes // 60}:{minutes % 60:02}"
    mark = lateness(entry)
    return (after, word(mark)) if mark else after


def lateness(entry: Any) -> str:
    """`ON_TIME`, `LATE_WORD` or `WAITED`."""
    if entry.recorded_at - entry.happened_at <= LATE:
        return ON_TIME
    told = written_at(entry.pk)
    done = entry.claimed_at or entry.happened_at
    return WAITED if told is not None and abs(told - done) <= LATE else LATE_WORD


def written_at(own: UUID) -> datetime | None:
    """When a device made this id, by that device's clock, UTC: the milliseconds that head a UUIDv7 (RFC 9562, 5.7).
    None for an id of another version."""
    if own.version != 7:
        return None
    return datetime.fromtimestamp((own.int >> 80) / 1000, UTC)
