"""Faults that were found, by kind and type."""

from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass

from django.db.models import Count

from equipment.models.charts.window import Window


@dataclass(frozen=True, slots=True)
class Faults:
    """`fault` of `kind`, both as codes, was found `count` times."""

    kind: str
    fault: str
    count: int


def faults(window: Window, left_out: Collection[str] = ()) -> list[Faults]:
    """Found by itself or at an inspection, those found most often first; without the types `left_out`. One query."""
    rows = window.entries("fault_found", "inspected").order_by()
    grouped = rows.values("item__kind", "detail__fault", "detail__failed").annotate(count=Count("id"))
    found: Counter[tuple[str, str]] = Counter()
    for row in grouped:
        named = [row["detail__fault"], *(row["detail__failed"] or {}).values()]
        for fault in set(named) - {None, "", *left_out}:
            found[row["item__kind"], fault] += row["count"]
    rows_by_count = sorted(found.items(), key=lambda each: (-each[1], each[0]))
    return [Faults(kind, fault, count) for (kind, fault), count in rows_by_count]
