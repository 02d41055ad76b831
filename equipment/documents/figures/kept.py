"""What was worked out lately: a page, its drawings and its tables show the same count, and the book is read once.

It is kept as long as the book, the rules and what the reader speaks stay the same, and for ten minutes at most, because
hours go by while gear is out.
"""

from collections.abc import Hashable
from datetime import timedelta

from django.utils.translation import get_language

from equipment.documents.figures.base import Around, Figure
from equipment.documents.figures.page import Page
from equipment.models import ChainHead, rules
from equipment.models.charts import Window

KEPT_FOR = timedelta(minutes=10)
KEPT = 12

_kept: dict[Hashable, tuple[Around, list[Figure]]] = {}


def read(page: Page, beside: Around, window: Window) -> tuple[Around, list[Figure]]:
    """The figures of a page, and what they were worked out with, lately or now. Two queries more."""
    heads = tuple(ChainHead.objects.order_by("pk").values_list("store", "position", "digest"))
    days = window if page.by_days else None
    key = (page.name, days, get_language(), heads, rules.version())
    known = _kept.get(key)
    if known and known[0].at <= beside.at < known[0].at + KEPT_FOR:
        return known
    found = (beside, page.read(beside, window))
    if len(_kept) >= KEPT:
        _kept.clear()
    _kept[key] = found
    return found
