"""What there is of each sort of gear, and how many pieces of it leave for good."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Count, Q

from equipment.models.figures._line import rows_of
from equipment.models.scans import bound
from equipment.models.states import ItemState

Sort = tuple[str, str, str]
"""Kind, size, hand."""


@dataclass(frozen=True, slots=True)
class Stock:
    """`there` can be used: in a store, or out, and nothing stops its use; `broken` wait to be mended."""

    there: int
    broken: int


def stock() -> Mapping[Sort, Stock]:
    """As the states stand now; what falls due is cleaned tonight and counts as there. One query."""
    usable = Q(reasons=[]) | Q(reasons=["already_out"])
    rows = ItemState.objects.exclude(place__in=("gone", "missing")).order_by()
    rows = rows.values_list("item__kind", "item__size", "item__hand")
    counted = rows.annotate(there=Count("pk", filter=usable), broken=Count("pk", filter=~usable))
    return {(kind, size, hand): Stock(there, broken) for kind, size, hand, there, broken in counted}


# Joined in this order, which keeps SQLite from going through every piece's life.
_LEFT = """
SELECT item.kind_id, item.size, item.hand, COUNT(*) FROM equipment_entry ended
CROSS JOIN equipment_item item
WHERE item.id = ended.item_id AND ended.verb = 'written_off' AND ended.happened_at <= %s
    AND ended.detail ->> 'circumstance' <> 'sold'
    AND NOT EXISTS (
        SELECT 1 FROM equipment_entry undone
        WHERE undone.item_id = ended.item_id AND COALESCE(undone.verb, '') = 'reversed' AND {undone} = ended.id)
GROUP BY item.kind_id, item.size, item.hand
"""


def left(at: datetime) -> Mapping[Sort, int]:
    """Pieces of each sort written off for any reason but a sale, in the whole book up to `at`. One query."""
    return {(kind, size, hand): count for kind, size, hand, count in rows_of(_LEFT, at, bound(at))}
