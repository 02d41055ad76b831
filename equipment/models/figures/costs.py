"""What gear costs: lost, worn out and mended, by the crew that had it last and by kind."""

from dataclasses import dataclass
from datetime import date

from equipment.models.figures._line import rows_of
from equipment.models.registers import Asked
from equipment.models.scans import bound


@dataclass(frozen=True, slots=True)
class Cost:
    """`what` is lost (or stolen, or disputed), worn (out, or broken), other, or mended: so many times. `money` is the
    price of the pieces written off, of which `unpriced` have none in the book; `minutes` of mends. `crew` None: of
    pieces that no crew ever had."""

    crew: str | None
    kind: str
    what: str
    times: int
    money: float
    unpriced: int
    minutes: int


# The crew is found by the piece's life, which is short: so the verb is asked for in a way that no index of verbs helps.
_COSTS = """
SELECT crew_id, kind_id, what, COUNT(*),
    SUM(CASE WHEN what = 'mended' THEN 0 ELSE COALESCE(price, 0) END),
    SUM(CASE WHEN what <> 'mended' AND price IS NULL THEN 1 ELSE 0 END),
    SUM(minutes)
FROM (
    SELECT item.kind_id, item.price,
        CASE WHEN ended.verb = 'mended' THEN 'mended'
            WHEN ended.detail ->> 'circumstance' IN ('lost', 'stolen', 'disputed') THEN 'lost'
            WHEN ended.detail ->> 'circumstance' IN ('worn_out', 'broken') THEN 'worn'
            ELSE 'other' END AS what,
        CASE WHEN ended.verb = 'mended' THEN COALESCE(CAST(ended.detail ->> 'minutes' AS integer), 0) ELSE 0 END
            AS minutes,
        (SELECT handed.crew_id FROM equipment_entry handed
         WHERE handed.item_id = ended.item_id AND handed.happened_at <= ended.happened_at
             AND COALESCE(handed.verb, '') = 'handed_out'
         ORDER BY handed.happened_at DESC LIMIT 1) AS crew_id
    FROM equipment_entry ended CROSS JOIN equipment_item item
    WHERE item.id = ended.item_id AND ended.verb IN ('written_off', 'mended')
        AND ended.happened_at >= %s AND ended.happened_at < %s
        AND NOT EXISTS (
            SELECT 1 FROM equipment_entry undone
            WHERE undone.item_id = ended.item_id AND COALESCE(undone.verb, '') = 'reversed'
                AND {undone} = ended.id)
) told GROUP BY crew_id, kind_id, what ORDER BY crew_id, kind_id, what
"""


def costs(first: date, last: date) -> list[Cost]:
    """Of the farm's days from `first` to `last`, both included. One query."""
    asked = Asked(first, last)
    rows = rows_of(_COSTS, asked.since, bound(asked.since), bound(asked.until))
    return [
        Cost(crew, kind, what, times, float(money), unpriced, minutes)
        for crew, kind, what, times, money, unpriced, minutes in rows
    ]
