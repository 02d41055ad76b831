"""What left the book for good, by month and circumstance."""

from dataclasses import dataclass
from datetime import date

from django.db.models import Count
from django.db.models.fields.json import KT
from django.db.models.functions import TruncMonth

from equipment.models.charts.window import Window


@dataclass(frozen=True, slots=True)
class Losses:
    """`count` pieces written off in the month that begins on `month`, by one circumstance."""

    month: date
    circumstance: str
    count: int


def losses(window: Window) -> list[Losses]:
    """By month, then circumstance. One query."""
    rows = window.entries("written_off").annotate(
        month=TruncMonth("happened_at"), how=KT("detail__circumstance")
    )
    found = rows.values("month", "how").annotate(count=Count("id")).order_by("month", "how")
    return [Losses(row["month"].date(), row["how"], row["count"]) for row in found]
