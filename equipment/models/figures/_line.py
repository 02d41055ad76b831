"""The line of use: every piece's life cut at what ends its use, in hours, as the start of each figure's query.

Hours in use are those of the clock (`domain/clock.py`): while a picker has the piece (of a kind that a crew shares,
the crew) and the crew is on a visit; where the book knows of no visit during the whole stint, all of the stint. One
thing is stricter: a visit that nobody ended, and a stint without any visit, count for a day's work at most. Use ends
at a fault that stops it, though the piece stays with its picker until it is brought back.

The order is that of time, not the fold's: where two devices disagree about a piece, hours may differ a little.

Raw SQL, because the ORM has no visit-by-visit overlap; both databases get the same text, but for what they call a time.
"""

from collections.abc import Collection, Sequence
from datetime import datetime, timedelta
from typing import Any

from django.db import connection
from django.utils import timezone

from equipment.domain.visits import LONGEST_UNTOLD
from equipment.models.scans import bound

# What ends a stint, or begins one.
CUSTODY = ("handed_out", "returned", "moved", "stowed", "missed", "found")
# What says that the piece itself was at its end; lost, stolen and sold pieces lasted at least so long.
WORE_OUT = ("worn_out", "broken")
A_DAYS_WORK = LONGEST_UNTOLD / timedelta(hours=1)

LINE = """
WITH undone AS (
    SELECT {undone} AS id FROM equipment_entry WHERE verb = 'reversed' AND item_id IS NOT NULL
), told AS (
    SELECT item_id, happened_at AS at, id, verb, crew_id, picker_id, NULL AS fault
    FROM equipment_entry WHERE verb IN ({custody})
    UNION ALL
    SELECT item_id, happened_at, id, verb, NULL, NULL, detail ->> 'fault'
    FROM equipment_entry WHERE verb = 'fault_found' AND detail ->> 'fault' IN ({stopping})
    UNION ALL
    SELECT e.item_id, e.happened_at, e.id, e.verb, NULL, NULL, failed.value
    FROM equipment_entry e, {failed} failed WHERE e.verb = 'inspected' AND {has_failed} AND failed.value IN ({stopping})
    UNION ALL
    SELECT item_id, happened_at, id, verb, NULL, NULL,
        CASE WHEN detail ->> 'circumstance' IN ({wore_out}) THEN detail ->> 'circumstance' END
    FROM equipment_entry WHERE verb = 'written_off'
), standing AS (
    SELECT * FROM told WHERE at <= {now} AND told.id NOT IN (SELECT id FROM undone) {only}
), stints AS (
    SELECT item_id, at, verb, crew_id, picker_id,
        COALESCE(LEAD(at) OVER life, {now}) AS until, LEAD(fault) OVER life AS ended_by
    FROM standing WINDOW life AS (PARTITION BY item_id ORDER BY at, id)
), used AS MATERIALIZED (
    SELECT stint.item_id, stint.at, stint.crew_id, stint.ended_by, item.kind_id, item.make, item.size, item.hand,
        COALESCE(
            (SELECT SUM({least}({hours_until}, {hours_visited}) - {greatest}({hours_at}, {hours_came}))
             FROM equipment_visit visit
             WHERE visit.crew_id = stint.crew_id AND visit.at < stint.until AND visit.at > {day_before}
                 AND (visit.until IS NULL OR visit.until > stint.at)),
            {least}({hours_until} - {hours_at}, {a_day})
        ) AS hours
    FROM stints stint JOIN equipment_item item ON item.id = stint.item_id
    JOIN equipment_kind kind ON kind.code = item.kind_id
    WHERE stint.verb = 'handed_out' AND (stint.picker_id IS NOT NULL OR kind.issued_to = 'crew')
)
"""

ONLY = "AND item_id IN (SELECT id FROM equipment_item WHERE kind_id = %s)"

_SQLITE = {
    "undone": "REPLACE(detail ->> 'entry', '-', '')",
    "undone_of": "REPLACE(undone.detail ->> 'entry', '-', '')",
    "failed": "json_each(e.detail, '$.failed')",
    "has_failed": "e.detail LIKE '%%\"failed\"%%'",
    "least": "MIN",
    "greatest": "MAX",
    "hours": "(julianday({}) * 24.0)",
    "day_before": "datetime(stint.at, '-12 hours')",
    "day": "date(at, '{:+} minutes')",
}
_POSTGRESQL = {
    "undone": "CAST(detail ->> 'entry' AS uuid)",
    "undone_of": "CAST(undone.detail ->> 'entry' AS uuid)",
    "failed": "LATERAL jsonb_each_text(CASE WHEN jsonb_typeof(e.detail -> 'failed') = 'object'"
    " THEN e.detail -> 'failed' ELSE '{}'::jsonb END)",
    "has_failed": "e.detail -> 'failed' IS NOT NULL",
    "least": "LEAST",
    "greatest": "GREATEST",
    "hours": "(CAST(EXTRACT(EPOCH FROM {}) AS double precision) / 3600.0)",
    "day_before": "stint.at - INTERVAL '12 hours'",
    "day": "CAST(at AT TIME ZONE 'UTC' + INTERVAL '{:+} minutes' AS date)",
}


def asked(
    ending: str, at: datetime, stopping: Collection[str], *values: Any, kind: str = ""
) -> list[tuple[Any, ...]]:
    """The rows of `ending`, an aggregate over `used`, as the book stood at `at`; `stopping` are the codes of faults
    that stop use; of one `kind`, "" for all. `values` fill the places of `ending`. One query."""
    codes = sorted(stopping) or [""]
    text = LINE.format(**_words(len(codes), kind))
    filled = [*CUSTODY, *codes, *codes, *WORE_OUT, bound(at), *([kind] if kind else []), bound(at)]
    return rows_of(text + ending, at, *filled, *values)


def rows_of(text: str, at: datetime, *values: Any) -> list[tuple[Any, ...]]:
    """`{day}` in `text` is the farm's day of the column `at`, by its clock of now; `{undone}` the entry that a
    `reversed` names, as an id. One query."""
    offset = timezone.localtime(at).utcoffset() or timedelta()
    day = _own()["day"].format(offset // timedelta(minutes=1))
    with connection.cursor() as cursor:
        cursor.execute(text.replace("{day}", day).replace("{undone}", _own()["undone_of"]), values)
        rows: list[tuple[Any, ...]] = cursor.fetchall()
    return rows


def _own() -> dict[str, str]:
    return _SQLITE if connection.vendor == "sqlite" else _POSTGRESQL


def _words(codes: int, kind: str) -> dict[str, str]:
    own = _own()
    hours = own["hours"]
    visited = hours.format("COALESCE(visit.until, visit.at)")
    came, a_day = hours.format("visit.at"), f"{A_DAYS_WORK}"
    ended = f"CASE WHEN visit.until IS NULL THEN {came} + {a_day} ELSE {own['least']}({visited}, {came} + {a_day}) END"
    return own | {
        "custody": _places(CUSTODY),
        "wore_out": _places(WORE_OUT),
        "stopping": ", ".join(["%s"] * codes),
        "now": "%s",
        "only": ONLY if kind else "",
        "hours_until": hours.format("stint.until"),
        "hours_at": hours.format("stint.at"),
        "hours_came": came,
        "hours_visited": ended,
        "a_day": a_day,
    }


def _places(values: Sequence[Any]) -> str:
    return ", ".join(["%s"] * len(values))
