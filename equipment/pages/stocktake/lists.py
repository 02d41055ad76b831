"""Pieces and labels of a stocktake in words, each with the ways to settle it that are open to this person."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from crews.models import User
from equipment.actions.stocktake import settle, unknown
from equipment.actions.wording import filled, moment
from equipment.domain.stocktake import REGISTERED, SETTLED, Choice
from equipment.models import Stocktake, UnknownTag
from equipment.models.stocktaking import Line
from equipment.pages.stocktake.words import Names, name_of, standing

ICONS = {
    "seen": "yes", "missed": "missing", "given": "out", "lies_there": "store", "written_off": "gone",
    "taken_back": "back", "label_twin": "label", "moved_here": "store", "sent_back": "store", "found": "search",
    "stays_missing": "label", "not_gone": "undo", "stays_gone": "gone", "registered": "book", "retagged": "label",
    "not_ours": "no",
}  # fmt: skip


@dataclass(frozen=True)
class Way:
    name: str
    words: str
    icon: str
    asks: str


class Offering:
    """What stands to be settled in several `ways`: those that are one press, and those that ask something first."""

    ways: Sequence[Way]

    @property
    def plain(self) -> list[Way]:
        return [way for way in self.ways if not way.asks]

    @property
    def asking(self) -> list[Way]:
        return [way for way in self.ways if way.asks]


@dataclass(frozen=True)
class Shown(Offering):
    """A piece: `say` what is strange about it, `where` it is by the book, `seen` who saw it and when, `settled` how and
    by whom it was settled. `plain` ways are buttons, `asking` ones have something to fill in."""

    item: UUID
    tag: str
    kind: Any
    say: str
    where: str
    since: str | None
    seen: str = ""
    settled: str = ""
    settled_by: str = ""
    ways: Sequence[Way] = field(default=())
    may_reopen: bool = False


def lines(own: Stocktake, page: Sequence[Line], by: User) -> list[Shown]:
    names = Names(page)
    return [_line(own, line, names, by) for line in page]


def _line(own: Stocktake, line: Line, names: Names, by: User) -> Shown:
    open_here = own.ended_at is None
    ways = settle.ways(line.standing, by) if open_here else ()
    words = {"store": own.store.name, "own": names.store(line.store)}
    settled = line.settled if line.standing == "settled" else None
    return Shown(
        line.item,
        line.tag,
        names.kinds[line.kind],
        standing(line.standing),
        names.where(line),
        moment(line.since),
        names.told(line.seen) if line.seen else "",
        names.settled(settled) if settled else "",
        names.told(settled) if settled else "",
        [_way(each, words) for each in ways],
        open_here and settled is not None,
    )


def _way(choice: Choice, words: dict[str, str]) -> Way:
    return Way(choice.name, filled(choice.words, words), ICONS[choice.name], choice.asks)


@dataclass(frozen=True)
class ShownLabel(Offering):
    """A label that the book does not know; `wears`: it can be worn as it is."""

    row: UnknownTag
    told: str
    wears: bool
    settled: str = ""
    settled_by: str = ""
    ways: Sequence[Way] = ()
    may_reopen: bool = False


def labels(own: Stocktake, rows: Sequence[UnknownTag], by: User) -> list[ShownLabel]:
    wearable = unknown.wearable(row.text for row in rows)
    return [_label(own, row, row.text in wearable, by) for row in rows]


def _label(own: Stocktake, row: UnknownTag, wears: bool, by: User) -> ShownLabel:
    open_here = own.ended_at is None
    ways = [_way(choice, {}) for choice in unknown.ways(by)] if open_here and not row.choice else []
    told = _("%(who)s, %(when)s") % {"who": name_of(row.by), "when": moment(row.at)}
    if not row.choice:
        return ShownLabel(row, told, wears, ways=ways)
    settled_by = _("%(who)s, %(when)s") % {"who": name_of(row.settled_by), "when": moment(row.settled_at)}
    reopen = open_here and row.choice != REGISTERED.name
    return ShownLabel(row, told, False, _(SETTLED[row.choice]), settled_by, may_reopen=reopen)
