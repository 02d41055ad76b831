"""The catalogue's defaults into the database; what the farm has changed stays the farm's."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from equipment import catalogue
from equipment.actions.follow_rules import follow
from equipment.catalogue.rules import defaults, settled
from equipment.ledger import writing
from equipment.models import Goods, Kind, Rule
from equipment.models.rules import subjects_known, write

# What the catalogue gives at first holds for whatever the book has of earlier days.
BEGINNING = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Counts:
    """How many were new, how many brought up to date, how many left alone because the farm changed them."""

    added: int = 0
    updated: int = 0
    kept: int = 0


@dataclass(frozen=True, slots=True)
class Loaded:
    kinds: Counts
    goods: Counts
    rules: Counts


def load_catalogue(*, rules: bool = True, at: datetime | None = None) -> Loaded:
    """Safe to run again and again. Without its `rules` the book asks for nothing: no cleaning, no inspection. A rule
    that reads otherwise now than when it was loaded holds from `at` on, None for now."""
    return Loaded(_load_kinds(), _load_goods(), _load_rules(at or timezone.now()) if rules else Counts())


def _load_kinds() -> Counts:
    rows = [
        Kind(
            code=kind.code,
            name=kind.name,
            name_plural=kind.name_plural,
            prefix=kind.prefix,
            issued_to=kind.issued_to,
            comes_back=kind.comes_back,
            sizes=list(kind.sizes),
            hands=kind.hands,
            icon=kind.icon,
            position=position,
        )
        for position, kind in enumerate(catalogue.load().kind)
    ]
    return _written(
        Kind, rows, "name name_plural prefix issued_to comes_back sizes hands icon position".split()
    )


def _load_goods() -> Counts:
    rows = [
        Goods(
            code=goods.code,
            name=goods.name,
            unit=goods.unit,
            used_for=goods.used_for,
            low=goods.low,
            agent=goods.agent or "",
            strength_pct=goods.strength_pct,
            position=position,
        )
        for position, goods in enumerate(catalogue.load().goods)
    ]
    return _written(Goods, rows, "name unit used_for low agent strength_pct position".split())


def _written(model: type[Kind] | type[Goods], rows: Sequence[Any], fields: Sequence[str]) -> Counts:
    """The new ones, and those that read otherwise than before."""
    present: dict[str, Any] = model._default_manager.in_bulk()
    new = [row for row in rows if row.code not in present]
    kept = [row for row in rows if row.code in present and present[row.code].own]
    other = [
        row
        for row in rows
        if (known := present.get(row.code))
        and not known.own
        and any(getattr(known, name) != getattr(row, name) for name in fields)
    ]
    with transaction.atomic():
        model._default_manager.bulk_create(new)
        model._default_manager.bulk_update(other, fields)
    return Counts(len(new), len(other), len(kept))


def _load_rules(at: datetime) -> Counts:
    """Versions of the catalogue's own: of a new subject from the beginning, of one that reads otherwise from `at`."""
    with writing():
        last = {row.subject: row for row in Rule.objects.order_by("id")}
        new, stale = _new_and_stale(last, at)
        write([*new, *stale])
    follow([*new, *stale], at)
    return Counts(len(new), len(stale), sum(row.by_id is not None for row in last.values()))


def _new_and_stale(last: Mapping[str, Rule], at: datetime) -> tuple[list[Rule], list[Rule]]:
    new: list[Rule] = []
    stale: list[Rule] = []
    for subject, row in subjects_known().items():
        values, known = defaults(row), last.get(subject)
        if known is None:
            new.append(Rule(subject=subject, values=values, from_at=BEGINNING, recorded_at=at))
        elif known.by_id is None and settled(row, known.values) != values:
            stale.append(Rule(subject=subject, values=values, from_at=at, recorded_at=at))
    return new, stale
