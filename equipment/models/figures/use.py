"""How much each crew uses gear, and how often it breaks in their hands."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from equipment.models.figures._line import asked, rows_of
from equipment.models.scans import bound


@dataclass(frozen=True, slots=True)
class Use:
    """Hours in use of all pieces together, and swaps: the stints that a fault ended. `recent_hours` and `recent_days`
    (days on which some went out, by the farm's clock of now) are of the last weeks. What was not asked by is ""."""

    crew: str
    kind: str
    make: str
    size: str
    hand: str
    hours: float
    swaps: int
    recent_hours: float
    recent_days: int


_USE = """
SELECT {by}, SUM(hours),
    SUM(CASE WHEN ended_by IS NULL THEN 0 ELSE 1 END),
    SUM(CASE WHEN at >= %s THEN hours ELSE 0 END),
    COUNT(DISTINCT CASE WHEN at >= %s THEN {day} END)
FROM used GROUP BY {by} ORDER BY {by}
"""
_BY_CREW = "crew_id, kind_id, '', size, hand"
_BY_MAKE = "'', kind_id, make, '', ''"


def use_by_crew(at: datetime, recent: datetime, stopping: Collection[str]) -> list[Use]:
    """By crew, kind, size and hand, of the whole book up to `at`; `recent` is when the last weeks begin. One query."""
    return _use(at, recent, stopping, "crew_id, kind_id, size, hand", _BY_CREW)


def use_by_make(at: datetime, recent: datetime, stopping: Collection[str]) -> list[Use]:
    """By kind and make. One query."""
    return _use(at, recent, stopping, "kind_id, make", _BY_MAKE)


def _use(at: datetime, recent: datetime, stopping: Collection[str], by: str, columns: str) -> list[Use]:
    text = _USE.replace("{by}", columns, 1).replace("{by}", by)
    since = bound(recent)
    return [Use(*row) for row in asked(text, at, stopping, since, since)]


@dataclass(frozen=True, slots=True)
class Busiest:
    """Of one sort: the most `pieces` that were out on one day of the last weeks."""

    kind: str
    size: str
    hand: str
    pieces: int


# The condition is that of an index; a handout that was taken back still counts.
_BUSIEST = """
SELECT kind_id, size, hand, MAX(pieces) FROM (
    SELECT item.kind_id, item.size, item.hand, COUNT(DISTINCT item_id) AS pieces
    FROM (
        SELECT item_id, happened_at AS at FROM equipment_entry
        WHERE verb IN ('handed_out', 'reversed') AND verb = 'handed_out' AND happened_at >= %s AND happened_at <= %s
    ) handed JOIN equipment_item item ON item.id = item_id
    GROUP BY item.kind_id, item.size, item.hand, {day}
) days GROUP BY kind_id, size, hand ORDER BY kind_id, size, hand
"""


def busiest(at: datetime, recent: datetime) -> list[Busiest]:
    """By sort, from `recent` to `at`. One query."""
    return [Busiest(*row) for row in rows_of(_BUSIEST, at, bound(recent), bound(at))]
