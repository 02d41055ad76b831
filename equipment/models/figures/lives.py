"""How long each piece has been in use, and what ended that first."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from equipment.models.figures._line import asked
from equipment.models.scans import as_uuid


@dataclass(frozen=True, slots=True)
class Life:
    """`hours` in use until the first fault that stopped its use or its write-off as worn out or broken (`fault` is the
    code of what it was), or until now (`fault` ""). `all_hours` and `faults` go on after mends; of one handout at most
    one fault counts, however often it was written down."""

    item: UUID
    tag: str
    kind: str
    make: str
    size: str
    hand: str
    delivery: str
    hours: float
    fault: str
    all_hours: float
    faults: int

    @property
    def failed(self) -> bool:
        return bool(self.fault)


_LIVES = """
, faults AS (
    SELECT item_id, at, fault, ROW_NUMBER() OVER (PARTITION BY item_id ORDER BY at, id) AS place,
        (SELECT MAX(handed.happened_at) FROM equipment_entry handed
         WHERE handed.item_id = standing.item_id AND COALESCE(handed.verb, '') = 'handed_out'
             AND handed.happened_at <= standing.at) AS handed_at
    FROM standing WHERE fault IS NOT NULL
), failed AS (
    SELECT item_id, MIN(at) AS at, MAX(CASE WHEN place = 1 THEN fault END) AS fault,
        COUNT(DISTINCT handed_at) + MAX(CASE WHEN handed_at IS NULL THEN 1 ELSE 0 END) AS faults
    FROM faults GROUP BY item_id
), lived AS (
    SELECT used.item_id, SUM(hours) AS all_hours,
        SUM(CASE WHEN failed.at IS NULL OR used.at < failed.at THEN hours ELSE 0 END) AS hours
    FROM used LEFT JOIN failed ON failed.item_id = used.item_id GROUP BY used.item_id
)
SELECT item.id, state.tag, item.kind_id, item.make, item.size, item.hand, item.delivery,
    lived.hours, failed.fault, lived.all_hours, failed.faults
FROM equipment_item item JOIN equipment_itemstate state ON state.item_id = item.id
LEFT JOIN lived ON lived.item_id = item.id LEFT JOIN failed ON failed.item_id = item.id
WHERE lived.item_id IS NOT NULL OR failed.item_id IS NOT NULL
ORDER BY item.kind_id, item.make, state.tag
"""


def lives(at: datetime, stopping: Collection[str], kind: str = "") -> list[Life]:
    """Of every piece that was ever handed out or found faulty (of `kind`, "" for all), by kind, make and tag. One
    query, a row a piece."""
    return [
        Life(as_uuid(item), tag, *words, hours or 0.0, fault or "", all_hours or 0.0, faults or 0)
        for item, tag, *words, hours, fault, all_hours, faults in asked(_LIVES, at, stopping, kind=kind)
    ]
