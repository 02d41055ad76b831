"""Scans of a stocktake: each becomes a `seen` line, or is kept as an unknown label. Sending again is harmless."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.utils.translation import gettext as _

from crews.models import User
from equipment.actions.stocktake.begin import ended, locked, pen
from equipment.actions.wording import NotDone
from equipment.actions.writing import new_id
from equipment.domain import codes
from equipment.domain.stocktake import LYING
from equipment.ledger import writing
from equipment.models import Entry, Label, Stocktake, UnknownTag, stocktaking
from equipment.models.stocktaking import Line, Scanned

MOST = 500
SHORTEST, LONGEST = 3, 40


@dataclass(frozen=True, slots=True)
class Scan:
    """`id` is made by whoever scans, before it is sent; `text` what the scanner or a hand gave."""

    id: UUID
    text: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of a scan: `seen`, `already` (with `before`, who saw it first), `unknown`, or not taken: `misread`,
    `set`, `not_gear`, `ended`, `undone` (sent again after it was taken back). `line` is the piece as it then stands."""

    id: UUID
    outcome: str
    tag: str
    line: Line | None = None
    before: Scanned | UnknownTag | None = None


@dataclass(frozen=True, slots=True)
class _Read:
    """`why` a text cannot be a piece; else `tag`, and its `item` where the book knows it."""

    scan: Scan
    tag: str
    why: str = ""
    item: UUID | None = None


def take(stocktake: Stocktake, scans: Sequence[Scan], by: User, at: datetime) -> list[Taken]:
    """Write these scans down and answer each, in order. `at` is now; a scan is never later, nor before the beginning.
    What was scanned before the end is taken in after it as well."""
    read = _read(scans)
    items = {each.item for each in read if each.item}
    with writing():
        own = locked(stocktake)
        before = stocktaking.count(own, items).lines
        new = _new(own, read, before, at)
        write = pen(own, by, at)
        write.record(
            [
                write.draft("seen", id=each.scan.id, item=each.item, happened_at=_when(own, each.scan, at))
                for each in new
            ],
            "note",
        )
        unknown = _keep_unknown(own, [each for each in read if not (each.item or each.why)], by, at)
        after = stocktaking.count(own, items).lines
    written = {each.scan.id for each in new}
    return [_taken(own, each, written, after, unknown) for each in read]


def _read(scans: Iterable[Scan]) -> list[_Read]:
    read = [_parsed(scan) for scan in scans]
    known = dict(Label.objects.filter(pk__in={each.tag for each in read}).values_list("pk", "item"))
    return [
        _Read(each.scan, each.tag, each.why, known.get(each.tag)) if not each.why else each for each in read
    ]


def _parsed(scan: Scan) -> _Read:
    try:
        code = codes.parse(scan.text)
    except codes.WrongCheck as wrong:
        return _Read(scan, wrong.params["text"], "misread")
    except codes.NotACode as none:
        text = none.params["text"]
        return _Read(scan, text, "" if SHORTEST <= len(text) <= LONGEST else "not_gear")
    if code.prefix == codes.SET:
        return _Read(scan, code.text, "set")
    return _Read(scan, code.text, "not_gear" if code.prefix in codes.NOT_ON_ITEMS else "")


def _new(own: Stocktake, read: Sequence[_Read], before: dict[UUID, Line], at: datetime) -> list[_Read]:
    """Those of a piece that was not seen yet, or that went away and came since; each id and each piece once."""
    ids = [each.scan.id for each in read]
    known = set(Entry.objects.filter(pk__in=ids).values_list("pk", flat=True))
    new: dict[UUID, _Read] = {}
    for each in read:
        if each.item is None or each.scan.id in known or each.item in new or _too_late(own, each.scan):
            continue
        if not _stands(own, before.get(each.item), _when(own, each.scan, at)):
            known.add(each.scan.id)
            new[each.item] = each
    return list(new.values())


def _stands(own: Stocktake, line: Line | None, at: datetime) -> bool:
    """Whether the piece has been seen, and nothing has taken it away since."""
    if line is None or line.seen is None:
        return False
    here = line.place in LYING and line.store == own.store_id
    return here or line.standing != "seen" or line.since is None or at <= line.since


def _when(own: Stocktake, scan: Scan, at: datetime) -> datetime:
    return max(own.begun_at, min(scan.at, at))


def _too_late(own: Stocktake, scan: Scan) -> bool:
    return own.ended_at is not None and scan.at > own.ended_at


def _keep_unknown(own: Stocktake, read: Sequence[_Read], by: User, at: datetime) -> dict[str, UnknownTag]:
    rows = [
        UnknownTag(id=each.scan.id, stocktake=own, text=each.tag, by=by, at=_when(own, each.scan, at))
        for each in {each.tag: each for each in reversed(read) if not _too_late(own, each.scan)}.values()
    ]
    kept = _stored(own, rows)
    # A number that stands for another label already keeps none of the two from being written down.
    others = [row for row in rows if row.text not in kept]
    for row in others:
        row.id = new_id()
    return kept | _stored(own, others)


def _stored(own: Stocktake, rows: Sequence[UnknownTag]) -> dict[str, UnknownTag]:
    if not rows:
        return {}
    UnknownTag.objects.bulk_create(rows, ignore_conflicts=True)
    kept = own.unknown.filter(text__in={row.text for row in rows}).select_related("by")
    return {each.text: each for each in kept}


def _taken(
    own: Stocktake, each: _Read, written: set[UUID], lines: dict[UUID, Line], unknown: dict[str, UnknownTag]
) -> Taken:
    scan = each.scan.id
    if each.why:
        return Taken(scan, each.why, each.tag)
    if _too_late(own, each.scan):
        return Taken(scan, "ended", each.tag)
    if each.item is None:
        first = unknown[each.tag]
        return Taken(scan, "unknown", first.text, before=first if first.pk != scan else None)
    line = lines.get(each.item)
    if line is None or line.seen is None:
        return Taken(scan, "undone", each.tag)
    first_seen = None if scan in written or line.seen.entry == scan else line.seen
    return Taken(scan, "already" if first_seen else "seen", each.tag, line, first_seen)


def unscan(stocktake: Stocktake, scan: UUID, by: User, at: datetime) -> str:
    """Take back one scan; its tag. Raises NotDone where there is none, or the stocktake has ended."""
    with writing():
        own = locked(stocktake)
        if own.ended_at is not None:
            raise NotDone(ended(own))
        unknown = own.unknown.filter(pk=scan, choice="").first()
        if unknown is not None:
            unknown.delete()
            return unknown.text
        entry = Entry.objects.filter(pk=scan, act=own.pk, verb="seen").first()
        item = entry.item_id if entry else None
        line = stocktaking.count(own, [item]).lines.get(item) if item else None
        if line is None or line.seen is None or line.seen.entry != scan:
            raise NotDone(_("There is no scan to take back any more."))
        write = pen(own, by, at)
        write.record([write.draft("reversed", item=item, detail={"entry": str(scan)})], "note")
        return line.tag
