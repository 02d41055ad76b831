"""Finding gear: by what is written on it, by who has it, by where it is.

Names are compared without case and accents. No database does that by itself on both SQLite and PostgreSQL, so the
few distinct names (pickers, makes, owners, kinds, crews) are compared here and the database is asked for their keys.
"""

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _

from crews.models import BadgeLoan, Crew, Picker
from equipment.domain import codes
from equipment.models.gear import Item, Kind, Label
from equipment.models.states import ItemState

STANDS = ("fit", "stays", "due")
"""May go out now; is in a store and stays there; has a cleaning due, or something else that keeps it in the store."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is looked for; "" where it does not matter. `kind`, `crew` and `store` are codes, `text` free text;
    `stand` is one of STANDS, as of `at` (UTC)."""

    text: str = ""
    kind: str = ""
    place: str = ""
    crew: str = ""
    store: str = ""
    owner: str = ""
    stand: str = ""
    at: datetime | None = None


def find(rows: QuerySet[ItemState], wanted: Wanted, day: date) -> QuerySet[ItemState]:
    """The rows that are wanted. Gear that is gone is left out, unless its place or a text is asked for."""
    for field, value in (
        ("item__kind", wanted.kind),
        ("place", wanted.place),
        ("crew", wanted.crew),
        ("store", wanted.store),
        ("item__owner", wanted.owner),
    ):
        rows = rows.filter(**{field: value}) if value else rows
    if wanted.stand and wanted.at is not None:
        rows = rows.filter(_standing(wanted.stand, wanted.at))
    if wanted.text.strip():
        return rows.filter(_written(wanted.text, day))
    return rows if wanted.place else rows.exclude(place="gone")


def _standing(stand: str, at: datetime) -> Q:
    held = Q(fit=False) | Q(holds_at__lte=at)
    here = Q(place__in=("store", "bench"))
    if stand == "due":
        return (Q(due_at__lte=at) | Q(holds_at__lte=at)) & ~Q(place__in=("missing", "gone"))
    return here & held if stand == "stays" else here & ~held & Q(fit=True)


def _written(text: str, day: date) -> Q:
    try:
        return _coded(codes.parse(text), day)
    except codes.BadCode:
        pass
    names = _Names()
    asked = Q()
    for word in [word for word in text.split() if plain(word)][:8]:
        asked &= names.matching(word)
    return asked


def _coded(code: codes.Code, day: date) -> Q:
    """A whole code, as a scanner sends it: a label old or new, a badge, a crew's tag or a set's."""
    if code.prefix == codes.BADGE:
        return Q(picker__in=BadgeLoan.objects.on(day).filter(badge=code.text).values("picker"))
    if code.prefix == codes.CREW:
        return Q(crew=code.text)
    if code.prefix == codes.SET:
        return Q(packed_in=code.text)
    return Q(item__in=Label.objects.filter(code=code.text).values("item"))


class _Names:
    """The distinct names of the farm, each with what it stands for, made plain once for a search."""

    def __init__(self) -> None:
        pickers = list(Picker.objects.values_list("pk", "name", "number"))
        self.pickers = [(key, plain(name)) for key, name, _number in pickers]
        self.numbers = [(key, plain(number)) for key, _name, number in pickers]
        self.crews = [(key, plain(name)) for key, name in Crew.objects.values_list("pk", "name")]
        kinds = Kind.objects.values_list("pk", "name", "name_plural")
        self.kinds = [(key, plain(f"{_(one)} {_(many)}")) for key, one, many in kinds]
        self.makes = [(make, plain(make)) for make in makes()]
        self.owners = [(owner, plain(owner)) for owner in owners()]

    def matching(self, word: str) -> Q:
        sought = plain(word)
        found = Q(
            picker__in=_having(sought, self.pickers) + [k for k, number in self.numbers if number == sought]
        )
        found |= Q(crew__in=_having(sought, self.crews))
        found |= Q(item__kind__in=_having(sought, self.kinds))
        found |= Q(item__make__in=_having(sought, self.makes))
        found |= Q(item__owner__in=_having(sought, self.owners))
        if word.isascii() and word.isalnum():
            found |= Q(item__in=Label.objects.filter(code__contains=word.upper()).values("item"))
        return found


def _having(sought: str, names: Iterable[tuple[object, str]]) -> list[object]:
    return [key for key, name in names if sought in name]


def plain(text: str) -> str:
    """Without case and accents: "Mošibudi" and "mosibudi" are the same."""
    apart = unicodedata.normalize("NFKD", text.casefold())
    return "".join(letter for letter in apart if not unicodedata.combining(letter))


def makes() -> list[str]:
    return sorted(Item.objects.exclude(make="").values_list("make", flat=True).distinct())


def owners() -> list[str]:
    return sorted(Item.objects.exclude(owner="").values_list("owner", flat=True).distinct())
