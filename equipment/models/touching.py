"""What a note asks of the book to know whom it touches, as SQL: the ORM would take longer to write these questions than
the database to answer them. The conditions are written as the partial indexes have them, so that SQLite uses those.
"""

import json
from collections.abc import Collection, Iterator, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import connection

from equipment.models.scans import as_time, as_uuid, asked, bound, bound_id

# Whatever ended their having it, a return, a change of hands, a night in the orchard, was told of the item since.
HAD = """
SELECT had.item_id FROM (
    SELECT DISTINCT item_id FROM equipment_entry WHERE crew_id = %s AND verb IN ('handed_out', 'returned')
) had WHERE EXISTS (SELECT 1 FROM equipment_entry since WHERE since.item_id = had.item_id AND since.happened_at >= %s)
"""
HAVE = "SELECT item_id FROM equipment_itemstate WHERE place = 'picker' AND crew_id = %s"
IN_BATH = "SELECT item_id FROM equipment_entry WHERE bath = %s AND verb = 'cleaned'"

DIPS = """
SELECT bath, happened_at, id, item_id FROM equipment_entry WHERE bath IN ({codes}) AND verb = 'cleaned'
ORDER BY happened_at, id
"""
UNDOING = "SELECT detail FROM equipment_entry WHERE item_id IN ({codes}) AND verb = 'reversed'"


def touched(crews: Mapping[str, datetime], baths: Collection[UUID]) -> set[UUID]:
    """Items that these crews' pickers have now or had, each crew's from its time on, and those that were dipped in
    these baths. One query."""
    asking = list(_asking(crews, baths))
    if not asking:
        return set()
    with connection.cursor() as cursor:
        cursor.execute(
            " UNION ".join(sql for sql, _ in asking), [each for _, told in asking for each in told]
        )
        return {as_uuid(item) for (item,) in cursor.fetchall()}


def _asking(crews: Mapping[str, datetime], baths: Collection[UUID]) -> Iterator[tuple[str, tuple[Any, ...]]]:
    for crew, since in crews.items():
        yield HAD, (crew, bound(since))
        yield HAVE, (crew,)
    for bath in baths:
        yield IN_BATH, (bound_id(bath),)


def dips(baths: Collection[UUID]) -> list[tuple[UUID, datetime, UUID]]:
    """The cleanings in these baths that were not taken back, in order: bath, when, entry. Two queries, or none."""
    rows = asked(DIPS, [bound_id(bath) for bath in baths])
    details = asked(UNDOING, list({item for *_, item in rows}))
    undone = {as_uuid(json.loads(detail)["entry"]) for (detail,) in details}
    found = [(as_uuid(bath), as_time(at), as_uuid(entry)) for bath, at, entry, _ in rows]
    return [dip for dip in found if dip[2] not in undone]
