"""The catalogue's defaults into the database; what the farm has changed stays the farm's."""

from dataclasses import dataclass

from django.db import transaction

from equipment import catalogue
from equipment.models import Kind


@dataclass(frozen=True, slots=True)
class Loaded:
    """How many kinds were new, how many brought up to date, how many left alone because the farm changed them."""

    added: int
    updated: int
    kept: int


def load_catalogue() -> Loaded:
    """Safe to run again and again."""
    present = Kind.objects.in_bulk()
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
    kept = [row for row in rows if row.code in present and present[row.code].own]
    known = [row for row in rows if row.code in present and not present[row.code].own]
    new = [row for row in rows if row.code not in present]
    with transaction.atomic():
        Kind.objects.bulk_create(new)
        Kind.objects.bulk_update(
            known, "name name_plural prefix issued_to comes_back sizes hands icon position".split()
        )
    return Loaded(len(new), len(known), len(kept))
