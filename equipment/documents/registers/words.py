"""What a register's cells say to people: names instead of codes, times on the farm's clock, in the active language.

Names are looked up in bulk, some lines at a time; what was erased since says so, and what is not known (any more) says
what it is. Nothing said here is part of what a printing's digest covers.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date, datetime, tzinfo
from decimal import Decimal
from functools import lru_cache
from itertools import islice
from typing import Any
from uuid import UUID

from django.apps import apps
from django.utils import timezone
from django.utils.formats import date_format, number_format
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from crews.models import Block, Crew, Device, Picker, Store, User
from equipment.actions import names
from equipment.domain.words import gettext_noop
from equipment.models import ItemState, Kind, Label, Note
from equipment.models.registers import Beside, Cell, Line, Named, _phrases

AT_ONCE = 500
ERASED = gettext_noop("erased")

Keys = set[Any]
Names = Mapping[Any, str]


class Words:
    """The names that the lines learnt so far need. Notes are kept for the lines learnt last only: they are long."""

    def __init__(self) -> None:
        self._names: dict[str, dict[Any, str]] = {}

    def learn(self, lines: Iterable[Line]) -> None:
        self.meet(cell for line in lines for cell in line.cells)

    def meet(self, cells: Iterable[Cell]) -> None:
        """Look up what `cells` name: at most a query or two for each sort of thing among them."""
        self._names.pop("note", None)
        wanted: dict[str, Keys] = {}
        for named in _named(cells):
            if named.key not in self._names.get(named.what, ()):
                wanted.setdefault(named.what, set()).add(named.key)
        for what, keys in wanted.items():
            if what in _TABLES:
                self._names.setdefault(what, {}).update(_TABLES[what](keys))

    def say(self, cell: Cell) -> str:
        """A tuple is said as several lines, one for each of its cells that says anything; None is "" ."""
        if isinstance(cell, Named):
            return self._name(cell)
        if isinstance(cell, str):
            return cell
        if isinstance(cell, datetime):
            minute = cell.replace(second=0, microsecond=0)
            return _moment(minute, get_language(), timezone.get_current_timezone())
        if isinstance(cell, tuple):
            return "\n".join(filter(None, map(self.say, cell)))
        if isinstance(cell, Beside):
            return cell.between.join(filter(None, map(self.say, cell.cells)))
        return said(cell)

    def labels(self, cell: Cell) -> list[str]:
        """Those of the pieces that a cell names."""
        known = self._names.get("tag", {})
        return [known[each.key] for each in _named([cell]) if each.what == "tag" and each.key in known]

    def _name(self, named: Named) -> str:
        if named.key in ("", 0):
            return ""
        if named.what == "word":
            return _(str(named.key))
        if named.what == "tags":
            return ", ".join(map(self._name, _each(named)))
        if (known := _CATALOGUE.get(named.what)) is not None:
            return known(str(named.key))
        name = self._names.get(named.what, {}).get(named.key)
        if name is None:
            return _UNKNOWN[named.what] and _(_UNKNOWN[named.what]) % {"key": named.key}
        return name or _(ERASED)


def read_by(words: Words, lines: Iterable[Line]) -> Iterator[Line]:
    """`lines`, streamed: some are read and their names looked up, they go by, and so on."""
    lines = iter(lines)
    while some := list(islice(lines, AT_ONCE)):
        words.learn(some)
        yield from some


def said(cell: int | Decimal | bool | date | None) -> str:
    """What needs no name."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return _("yes") if cell else _("no")
    if isinstance(cell, date):
        return _day(cell, get_language())
    return str(number_format(cell))


@lru_cache(maxsize=4096)
def _moment(at: datetime, _language: str | None, _zone: tzinfo) -> str:
    """Formatting is slow, and many lines are of the same minute."""
    return date_format(timezone.localtime(at), _("j M Y H:i"))


@lru_cache(maxsize=4096)
def _day(day: date, _language: str | None) -> str:
    return date_format(day, _("j M Y"))


def _named(cells: Iterable[Cell]) -> Iterator[Named]:
    for cell in cells:
        if isinstance(cell, Named):
            yield from _each(cell) if cell.what == "tags" else (cell,)
        elif isinstance(cell, tuple | Beside):
            yield from _named(cell if isinstance(cell, tuple) else cell.cells)


def _each(tags: Named) -> list[Named]:
    return [Named("tag", key) for key in str(tags.key).split()]


def _pickers(keys: Keys) -> Names:
    """With the farm's own number: two people may have one name."""
    rows = Picker.objects.filter(pk__in=keys).values_list("pk", "name", "number")
    return {pk: name and f"{name} ({number})" for pk, name, number in rows}


def _users(keys: Keys) -> Names:
    return {user.pk: user.get_full_name() or user.get_username() for user in User.objects.filter(pk__in=keys)}


def _blocks(keys: Keys) -> Names:
    rows = Block.objects.filter(pk__in=keys).values_list("pk", "name")
    return {code: f"{code} {name}".strip() for code, name in rows}


def _tags(keys: Keys) -> Names:
    """The label that a piece wears, or else any that finds it."""
    ids = {UUID(str(key)): key for key in keys}
    found = dict(Label.objects.filter(item__in=ids).order_by("-pk").values_list("item", "pk"))
    found |= dict(ItemState.objects.filter(pk__in=ids).values_list("pk", "tag"))
    return {ids[pk]: tag for pk, tag in found.items()}


def _notes(keys: Keys) -> Names:
    ids = {UUID(str(key)): key for key in keys}
    rows = Note.objects.filter(pk__in=ids).values_list("pk", "text", "erased_at")
    return {ids[pk]: "" if erased_at else text for pk, text, erased_at in rows}


def _as_they_say(model: Any) -> Callable[[Keys], Names]:
    return lambda keys: {row.pk: str(row) for row in model.objects.filter(pk__in=keys)}


def _goods(keys: Keys) -> Names:
    model = apps.all_models["equipment"].get("goods")
    return _as_they_say(model)(keys) if model else {}


_TABLES: Mapping[str, Callable[[Keys], Names]] = {
    "picker": _pickers,
    "user": _users,
    "device": lambda keys: {str(pk): name for pk, name in _as_they_say(Device)(keys).items()},
    "tag": _tags,
    "kind": _as_they_say(Kind),
    "crew": _as_they_say(Crew),
    "block": _blocks,
    "store": _as_they_say(Store),
    "goods": _goods,
    "note": _notes,
}
_CATALOGUE: Mapping[str, Callable[[str], str]] = {
    "fault": names.fault,
    "checklist": names.checklist,
    "recipe": names.recipe,
    "agent": names.agent,
    "disease": names.disease,
    "phrase": _phrases.say_phrase,
    "answer": _phrases.say_answer,
}
_UNKNOWN: Mapping[str, str] = {
    "picker": gettext_noop("unknown picker %(key)s"),
    "user": gettext_noop("unknown user %(key)s"),
    "device": gettext_noop("unknown device %(key)s"),
    "tag": gettext_noop("unknown piece %(key)s"),
    "kind": gettext_noop("unknown kind %(key)s"),
    "crew": gettext_noop("unknown crew %(key)s"),
    "block": gettext_noop("unknown block %(key)s"),
    "store": gettext_noop("unknown store %(key)s"),
    "goods": gettext_noop("unknown goods %(key)s"),
    "note": "",
}
