"""A stocktake in words: where a piece is by the book, who did what, how it was settled, how far it has come."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.utils.formats import date_format
from django.utils.timezone import localtime
from django.utils.translation import gettext as _

from crews.models import Crew, Picker, Store, User
from equipment.actions.wording import filled, moment
from equipment.domain.stocktake import SETTLED, STANDINGS
from equipment.models import Kind, Stocktake
from equipment.models.stocktaking import Count, Line, Scanned
from equipment.pages.places import holder


class Names:
    """Of the people, crews, stores and kinds that these lines speak of: a query for each. On paper every time is
    `dated`: nobody knows when it is read."""

    def __init__(self, lines: Iterable[Line], by: Iterable[int] = (), dated: bool = False) -> None:
        self._dated = dated
        lines = list(lines)
        told = [each for line in lines for each in (line.seen, line.settled) if each]
        self._pickers = Picker.objects.in_bulk({line.picker for line in lines if line.picker})
        self._crews = Crew.objects.in_bulk({line.crew for line in lines if line.crew})
        self._users = User.objects.in_bulk({each.by for each in told} | set(by))
        self._stores = dict(Store.objects.values_list("pk", "name"))
        self.kinds = Kind.objects.in_bulk()

    def user(self, pk: int | None) -> str:
        return name_of(self._users.get(pk)) if pk else ""

    def store(self, code: str | None) -> str:
        return self._stores.get(code or "", "…")

    def where(self, line: Line) -> str:
        """By the book."""
        who = holder(self._pickers.get(line.picker or 0), self._crews.get(line.crew or ""))
        if line.place in ("picker", "crew", "orchard"):
            return _("with %(who)s") % {"who": who or "…"}
        if line.place == "missing":
            return _("missing; last with %(who)s") % {"who": who} if who else _("missing")
        if line.place == "gone":
            return _("written off")
        on_bench = line.place == "bench"
        return (_("on the bench in %(store)s") if on_bench else _("in %(store)s")) % {
            "store": self.store(line.store)
        }

    def told(self, scanned: Scanned) -> str:
        """Who, when: "Rosa, 14:05"."""
        return self.who_when(self._users.get(scanned.by), scanned.at)

    def who_when(self, who: User | None, at: datetime | None) -> str:
        when = date_format(localtime(at), _("j M Y H:i")) if at and self._dated else moment(at)
        return _("%(who)s, %(when)s") % {"who": name_of(who), "when": when}

    def settled(self, scanned: Scanned) -> str:
        words = {"to": self.store(scanned.detail.get("to"))}
        return filled(SETTLED.get(scanned.said, scanned.said), words)


def name_of(user: User | None) -> str:
    return (user.get_full_name() or user.get_username()) if user else ""


@dataclass
class Progress:
    """Of one kind in one place; `accounted` are those that nobody saw and that need not be looked for any more."""

    kind: Any
    place: str
    expected: int = 0
    seen: int = 0
    left: int = 0

    @property
    def accounted(self) -> int:
        return self.expected - self.seen - self.left

    def add(self, line: Line) -> None:
        self.expected += 1
        self.seen += line.seen is not None
        self.left += line.standing == "left"


@dataclass
class Total(Progress):
    rows: list[Progress] = field(default_factory=list)


def progress(found: Count) -> Total:
    """By kind and place, in the order of the kinds."""
    kinds = Kind.objects.in_bulk()
    rows: dict[tuple[str, str], Progress] = {}
    total = Total("", "")
    places = {"store": _("in the store"), "bench": _("on the bench")}
    for line in found.lines.values():
        if line.expected:
            row = rows.setdefault((line.kind, line.then), Progress(kinds[line.kind], places[line.then]))
            row.add(line)
            total.add(line)
    order = {code: (kind.position, code) for code, kind in kinds.items()}
    total.rows = [rows[key] for key in sorted(rows, key=lambda key: (order[key[0]], key[1] != "store"))]
    return total


def counted(stocktake: Stocktake) -> str:
    """What is counted."""
    if not stocktake.kinds:
        return _("all kinds of gear")
    kinds = Kind.objects.in_bulk(stocktake.kinds)
    return ", ".join(_(kinds[code].name_plural) if code in kinds else code for code in stocktake.kinds)


def standing(name: str) -> str:
    return _(STANDINGS[name])
