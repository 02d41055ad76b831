"""The lines of To settle in words: a contradiction with what went before it, a kept note with why it waits."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import OuterRef, Q, QuerySet, Subquery
from django.utils.formats import date_format
from django.utils.timezone import localtime
from django.utils.translation import gettext as _

from crews.models import Crew, User
from equipment.actions import settle, settle_kept
from equipment.actions.settle import Contested
from equipment.actions.wording import filled
from equipment.models import Discrepancy, Entry, ItemState, KeptEntry
from equipment.pages import places
from equipment.pages.goods.saying import Lots
from equipment.pages.life import name
from equipment.pages.settle.kept_words import Names, said, why_it_waits
from equipment.pages.telling import Teller, with_names

CUSTODY = ("registered", "handed_out", "returned", "stowed", "missed", "found", "moved", "written_off")


@dataclass(frozen=True)
class Way:
    name: str
    words: str


@dataclass(frozen=True)
class Line:
    """A discrepancy. `before` is the last line of where the piece was, "" where there is none; `ways` to settle it;
    `url` is the page of a lot."""

    key: str
    code: str
    entry: UUID
    at: datetime
    say: str
    tag: str
    kind: Any
    where: str
    before: str
    by: str
    place: str
    note: str
    ways: Sequence[Way] = field(default=())
    settled_by: str = ""
    url: str = ""


@dataclass(frozen=True)
class KeptLine:
    """A note that the book could not take."""

    row: KeptEntry
    at: datetime | None
    say: str
    why: str
    by: str
    note: str
    raw: str
    may_take_in: bool
    may_leave_out: bool


def lines(rows: QuerySet[Discrepancy], by: User) -> list[Line]:
    """The discrepancies of a page in words, in some ten queries however many they are."""
    found = list(rows.annotate(before=_line_before()))
    wanted = {row.entry_id for row in found} | {row.before for row in found if row.before}  # type: ignore[attr-defined]
    entries = {entry.pk: entry for entry in with_names(Entry.objects.filter(pk__in=wanted))}
    contested = settle.contested(found, entries)
    states = _states(row.item_id for row in found)
    crews = dict(Crew.objects.values_list("pk", "name"))
    teller, lots = Teller(entries.values()), Lots(row.lot_id for row in found)
    return [_line(one, entries, states, crews, lots, teller, by) for one in contested]


def _line_before() -> Subquery:
    """Where the item was before the line that contradicts, as the book had it."""
    own = Entry.objects.filter(pk=OuterRef(OuterRef("entry_id"))).values("happened_at")[:1]
    earlier = Entry.objects.filter(item=OuterRef("item"), verb__in=CUSTODY, happened_at__lte=Subquery(own))
    rows = earlier.exclude(pk=OuterRef("entry_id")).order_by("-happened_at", "-id")
    return Subquery(rows.values("pk")[:1])


def _states(items: Iterable[UUID | None]) -> dict[UUID, ItemState]:
    rows = ItemState.objects.select_related("item__kind", "picker", "crew", "store")
    return rows.in_bulk({item for item in items if item})


def _line(
    one: Contested,
    entries: dict[UUID, Entry],
    states: dict[UUID, ItemState],
    crews: dict[str, str],
    lots: Lots,
    teller: Teller,
    by: User,
) -> Line:
    found, entry = one.found, one.entry
    state = states.get(found.item_id) if found.item_id else None
    before = entries.get(found.before)  # type: ignore[attr-defined]
    crew = crews.get(found.crew_id or "", "")
    words = {
        "where": places.where(state) if state else "",
        "store": state.store.name if state and state.store else entry.store.name,
        "crew": crew,
        "left": lots.left(found.lot_id),
    }
    return Line(
        key=found.key,
        code=found.code,
        entry=entry.pk,
        at=entry.happened_at,
        say=teller.contradicts(found),
        tag=state.tag if state else "",
        kind=state.item.kind if state else crew or lots.name(found.lot_id) or _("a bath"),
        where=words["where"],
        before=_told_at(before, teller) if before else "",
        by=name(entry.by),
        place=_place(entry),
        note=str(getattr(entry, "written_note", "")),
        ways=[Way(way.name, filled(way.words, words)) for way in settle.ways(one, by)],
        url=lots.url(found.lot_id),
    )


def _told_at(entry: Entry, teller: Teller) -> str:
    at = date_format(localtime(entry.happened_at), _("j F H:i"))
    words = {"at": at, "what": teller.tell(entry), "by": name(entry.by), "place": _place(entry)}
    return _("%(at)s: %(what)s Told by %(by)s, on %(place)s.") % words


def _place(entry: Entry) -> str:
    """Where it was written: a phone or a counter by its name, else the store."""
    return entry.device.name or entry.store.name


def kept_lines(rows: Iterable[KeptEntry], by: User) -> list[KeptLine]:
    rows = list(rows)
    known = Names(row.raw for row in rows)
    return [_kept(row, known, by) for row in rows]


def _kept(row: KeptEntry, known: Names, by: User) -> KeptLine:
    told = said(row.raw, known)
    return KeptLine(
        row=row,
        at=told.at,
        say=told.words,
        why=why_it_waits(row, told.params),
        by=name(row.by),
        note=told.note,
        raw=told.pretty,
        may_take_in=settle_kept.may_take_in(row, by),
        may_leave_out=settle_kept.may_leave_out(row, by),
    )


def settled_lines(rows: QuerySet[Discrepancy], by: User, most: int) -> list[tuple[Line, Entry]]:
    """What was settled, with the `settled` line of each that can be taken back; those settled last first."""
    told = {line.key: line for line in lines(rows, by)}
    about = Q(item__in=rows.values("item")) | Q(crew__in=rows.values("crew"), item=None, lot=None)
    about |= Q(bath__in=rows.values("bath"), item=None) | Q(lot__in=rows.values("lot"), item=None)
    entries = with_names(Entry.objects.filter(about, verb="settled")).order_by("-recorded_at", "-position")
    last: dict[str, Entry] = {}
    for entry in entries:
        last.setdefault(entry.detail["key"], entry)
    pairs = [(told[key], entry) for key, entry in last.items() if key in told]
    return pairs[:most]
