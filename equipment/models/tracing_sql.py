"""The questions of `models/tracing.py` as SQL: the ORM would take longer to write them than the database to answer."""

import json
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from itertools import groupby, islice
from operator import itemgetter
from typing import Any
from uuid import UUID

from django.db import connection

from equipment.domain.values import Entry, Visit
from equipment.domain.whereabouts import TOLD
from equipment.models.histories import uuid_of_hex
from equipment.models.scans import as_time, as_uuid, bound, bound_id

# SQLite takes at most 500 parts in one statement.
BLOCKS_AT_ONCE, CREWS_AT_ONCE = 100, 60
LINES_BEFORE = 6
"""Lines about who had it, before the time asked for: one of them is a hand-out that was not taken back."""

OVER_AFTER = "SELECT crew_id, at, until FROM equipment_visit WHERE block_id = %s AND until >= %s"
NEVER_OVER = (
    "SELECT crew_id, at, until FROM equipment_visit WHERE block_id = %s AND until IS NULL AND at >= %s"
)

# CROSS JOIN: SQLite keeps to the order in which tables are named, whatever it has counted.
_OF_KINDS = "CROSS JOIN equipment_item item"
_IS_OF_KINDS = "item.id = {gear}.item_id AND item.kind_id IN ({kinds})"
HANDED = """
SELECT had.item_id FROM equipment_entry had {gear_that_a_crew_had} {of_kinds}
WHERE had.crew_id = %s AND had.verb IN ('handed_out', 'returned')
  AND had.happened_at >= %s AND had.happened_at <= %s AND (had.happened_at <= %s OR had.verb = 'returned')
  AND {is_of_kinds}
"""
HAVE = """
SELECT have.item_id FROM equipment_itemstate have {of_kinds}
WHERE have.crew_id = %s AND have.place IN ('picker', 'crew', 'orchard', 'missing') AND {is_of_kinds}
"""
BROUGHT = """
SELECT had.item_id FROM equipment_entry came {time_line_of_a_crew}
CROSS JOIN equipment_entry had {usual_gear_of_a_picker} {of_kinds}
WHERE came.crew_id = %s AND came.item_id IS NULL AND came.verb = 'joined'
  AND came.happened_at >= %s AND came.happened_at <= %s AND had.picker_id = came.picker_id
  AND had.verb = 'handed_out' AND had.happened_at >= %s AND had.happened_at <= came.happened_at AND {is_of_kinds}
"""
STOOD = """
SELECT stood.item_id FROM equipment_entry stood {lines_of_a_register} {of_kinds}
WHERE stood.verb = 'stowed' AND stood.happened_at >= %s AND stood.block_id = %s AND {is_of_kinds}
"""
LIVES = """
SELECT told.item_id, told.id, told.verb, CAST(told.happened_at AS text), told.device_id, told.device_seq, told.detail,
       told.picker_id, told.crew_id, told.block_id, told.bath
FROM equipment_item item CROSS JOIN equipment_entry told {life_of_an_item}
WHERE item.id IN ({codes}) AND told.item_id = item.id AND told.happened_at >= COALESCE((
    SELECT before.happened_at FROM equipment_entry before {life_of_an_item}
    WHERE before.item_id = item.id AND before.happened_at < %s AND before.verb IN ({custody})
    ORDER BY before.happened_at DESC LIMIT 1 OFFSET {lines}
  ), %s)
  AND (told.verb IN ({verbs}) OR (told.verb = 'inspected' AND CAST(told.detail AS text) LIKE %s))
ORDER BY told.item_id
"""
VISITS_OF = """
SELECT crew_id, id, block_id, at, until, cause FROM equipment_visit
WHERE crew_id IN ({codes}) AND at >= %s ORDER BY crew_id, at, id
"""
MOVES = """
SELECT id, verb, happened_at, device_seq, picker_id, crew_id, detail FROM equipment_entry {lines_of_a_register}
WHERE verb IN ('joined', 'parted') AND happened_at >= %s AND picker_id IN ({codes})
ORDER BY happened_at, device_seq, id
"""
UNDONE_MOVES = """
SELECT detail FROM equipment_entry {time_line_of_a_crew}
WHERE crew_id IN ({codes}) AND item_id IS NULL AND happened_at >= %s AND verb = 'reversed'
"""
DIPS = """
SELECT bath, happened_at, id, item_id FROM equipment_entry {entries_of_a_bath}
WHERE bath IN ({codes}) AND verb = 'cleaned'
ORDER BY happened_at, id
"""
UNDONE_DIPS = """
SELECT detail FROM equipment_entry {life_of_an_item}
WHERE item_id IN ({codes}) AND happened_at >= %s AND verb = 'reversed'
"""

INDEXES = (
    "gear_that_a_crew_had time_line_of_a_crew usual_gear_of_a_picker lines_of_a_register life_of_an_item"
    " entries_of_a_bath".split()
)
Part = tuple[str, Sequence[Any]]
Window = tuple[str, tuple[datetime, datetime]]
LONG_AGO = datetime(1970, 1, 1, tzinfo=UTC)


def visits_to(
    blocks: Sequence[tuple[str, datetime]], longest: timedelta
) -> list[tuple[str, datetime, datetime | None]]:
    """The visits to each of these blocks that were not over at its time: crew, from, until. One query."""
    parts: list[Part] = []
    for block, since in blocks:
        parts += [(OVER_AFTER, (block, bound(since))), (NEVER_OVER, (block, bound(since - longest)))]
    rows = _all(parts, " UNION ALL ")
    return [(crew, as_time(at), as_time(until) if until else None) for crew, at, until in rows]


def gear_with(
    windows: Sequence[Window], kinds: Collection[str], back: timedelta, until: datetime
) -> set[UUID]:
    """What these crews may have had in their windows: handed out to them (or to whoever came to them) up to `back`
    before and during it, returned by them since, or with them now. One query."""
    parts: list[Part] = []
    for crew, (first, last) in windows:
        early = bound(first - back)
        parts += [
            _gear(HANDED, "had", kinds, crew, early, bound(max(until, last)), bound(last)),
            _gear(HAVE, "have", kinds, crew),
            _gear(BROUGHT, "had", kinds, crew, early, bound(last), early),
        ]
    return {as_uuid(item) for (item,) in _all(parts, " UNION ")}


def stood_in(blocks: Sequence[tuple[str, datetime]], kinds: Collection[str], back: timedelta) -> set[UUID]:
    """What was left in these blocks overnight, up to `back` before. One query."""
    parts = [_gear(STOOD, "stood", kinds, bound(since - back), block) for block, since in blocks]
    return {as_uuid(item) for (item,) in _all(parts, " UNION ")}


def _gear(text: str, gear: str, kinds: Collection[str], *values: Any) -> Part:
    is_of_kinds = _IS_OF_KINDS.format(gear=gear, kinds=_places(kinds))
    return text.format(of_kinds=_OF_KINDS, is_of_kinds=is_of_kinds, **_told_to_use()), [
        *values,
        *sorted(kinds),
    ]


def lives(pieces: Collection[UUID], since: datetime, disease: str) -> Iterator[tuple[UUID, list[Entry]]]:
    """What is told of each piece since then, and who had it then, as far as it matters for `disease`. One query."""
    custody = [verb for verb in TOLD if verb != "fault_found"]
    told = [*TOLD, "cleaned", "reversed"]
    text = LIVES.format(
        custody=_places(custody),
        lines=LINES_BEFORE - 1,
        codes=_places(pieces),
        verbs=_places(told),
        **_told_to_use(),
    )
    ids = [bound_id(piece) for piece in pieces]
    values = [*ids, bound(since), *custody, bound(LONG_AGO), *told, '%"failed"%']
    details = _Known(json.loads)
    uuid = uuid_of_hex if connection.vendor == "sqlite" else _as_it_is
    zone = "+00:00" if connection.vendor == "sqlite" else ""
    for piece, rows in groupby(_asked(text, values), key=itemgetter(0)):
        told_of_it = []
        # All in one place, for speed: a case reads thousands of lines.
        for _, own, verb, at, device, seq, said, picker, crew, block, bath in rows:
            detail = details[said]
            if verb == "cleaned" and not _matters(detail, disease):
                continue
            when = datetime.fromisoformat(at + zone)
            dip = as_uuid(bath) if bath else None
            told_of_it.append(Entry(uuid(own), verb, when, device, seq, "", detail, picker, crew, block, dip))
        yield as_uuid(piece), told_of_it


def _matters(cleaned: Mapping[str, Any], disease: str) -> bool:
    """Most cleanings neither kill it nor wash off what keeps the next one from counting."""
    return cleaned["method"] == "wash" or disease in cleaned.get("kills", ())


def _as_it_is(value: UUID) -> UUID:
    return value


class _Known(dict[Any, Any]):
    """Most details are one of a few, and nothing changes a detail."""

    def __init__(self, read: Callable[[Any], Any]) -> None:
        super().__init__()
        self.read = read

    def __missing__(self, text: Any) -> Any:
        self[text] = value = self.read(text)
        return value


def visits_of(crews: Sequence[str], since: datetime) -> Iterator[tuple[str, Visit]]:
    """The visits of these crews that began since, in order. One query, or none."""
    for crew, own, block, at, until, cause in _of(VISITS_OF, crews, bound(since)):
        yield crew, Visit(as_uuid(own), block, as_time(at), as_time(until) if until else None, cause)


def moves(first: Mapping[int, datetime]) -> list[tuple[int, datetime, str, str]]:
    """Who joined and left which crew, each picker since a time, in order, without what was taken back: picker, when,
    verb, crew. Two queries."""
    since = bound(min(first.values()))
    with connection.cursor() as cursor:
        cursor.execute(MOVES.format(codes=_places(first), **_told_to_use()), [since, *first])
        rows = cursor.fetchall()
    undone = _undone(_of(UNDONE_MOVES, sorted({row[5] for row in rows}), since))
    return [
        (picker, as_time(at), verb, crew)
        for own, verb, at, _, picker, crew, _ in rows
        if as_uuid(own) not in undone and as_time(at) >= first[picker]
    ]


def nth_dips(baths: Collection[UUID], wanted: Collection[UUID]) -> Iterator[tuple[UUID, int, datetime, UUID]]:
    """Those of the cleanings in these baths that are wanted: bath, the how manyeth in it, when, entry. What was taken
    back does not count. Two queries."""
    rows = _of(DIPS, [bound_id(bath) for bath in baths])
    since = min((at for _, at, _, _ in rows), default=None)
    undone = _undone(_of(UNDONE_DIPS, list({item for *_, item in rows}), since)) if rows else ()
    left_out, kept = {bound_id(entry) for entry in undone}, {bound_id(entry) for entry in wanted}
    count: dict[Any, int] = defaultdict(int)
    for bath, at, entry, _ in rows:
        if entry in left_out:
            continue
        count[bath] += 1
        if entry in kept:
            yield as_uuid(bath), count[bath], as_time(at), as_uuid(entry)


def _undone(rows: Sequence[tuple[Any, ...]]) -> set[UUID]:
    return {UUID(json.loads(detail)["entry"]) for (detail,) in rows}


def _told_to_use() -> dict[str, str]:
    """SQLite knows nothing of how the verbs are spread, and would read every line of a verb."""
    told = "INDEXED BY {}" if connection.vendor == "sqlite" else ""
    return {index: told.format(index) for index in INDEXES}


def batched(all_of_them: Iterable[Any], size: int) -> Iterator[list[Any]]:
    """So many at a time."""
    rest = iter(all_of_them)
    while some := list(islice(rest, size)):
        yield some


def _places(values: Collection[Any]) -> str:
    return ", ".join(["%s"] * len(values))


def _all(parts: Sequence[Part], joined: str) -> list[tuple[Any, ...]]:
    if not parts:
        return []
    return _asked(joined.join(text for text, _ in parts), [each for _, values in parts for each in values])


def _of(text: str, codes: Sequence[Any], *others: Any) -> list[tuple[Any, ...]]:
    return _asked(text.format(codes=_places(codes), **_told_to_use()), [*codes, *others]) if codes else []


def _asked(text: str, values: Sequence[Any]) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(text, values)
        rows: list[tuple[Any, ...]] = cursor.fetchall()
    return rows
