"""What a figure is: sentences, a table, a drawing, and the same as plain numbers for other programs."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.utils.formats import number_format
from django.utils.translation import gettext as _

from equipment.documents.charts import Figures
from equipment.models import Kind
from equipment.models.figures import Chosen, Sort, chosen, stopping

# More bars than these say nothing; the table has them all.
DRAWN = 20


@dataclass(frozen=True, slots=True)
class Around:
    """What every figure is worked out with: the moment, what the farm set, the faults that stop the use, the kinds."""

    at: datetime
    chosen: Chosen
    stopping: Sequence[str]
    kinds: Mapping[str, Kind]

    def kind(self, code: str, *, plural: bool = False) -> str:
        kind = self.kinds.get(code)
        return (_(kind.name_plural) if plural else _(kind.name)) if kind else code

    def order(self, code: str) -> int:
        return list(self.kinds).index(code) if code in self.kinds else len(self.kinds)

    def sort(self, sort: Sort) -> str:
        """A kind with its size and hand, as people say it."""
        kind, size, hand = sort
        return ", ".join(part for part in (self.kind(kind), size, HANDS.get(hand, lambda: hand)()) if part)


HANDS = {"left": lambda: _("left"), "right": lambda: _("right")}


def around(at: datetime) -> Around:
    """Four queries at most."""
    return Around(at, chosen(at), stopping(at), {kind.pk: kind for kind in Kind.objects.all()})


@dataclass(frozen=True, slots=True)
class Figure:
    """In the reader's language. `about` says what it was computed from and how; `says` are the sentences that follow
    from it, `waits` those that ask for nothing yet; `lines` the same as `figures.rows`, as numbers under fixed names.
    `links` lead to the entries: words, the name of an address, its query."""

    name: str
    title: str
    about: str
    empty: str
    figures: Figures
    lines: Sequence[Mapping[str, Any]]
    says: Sequence[str] = ()
    waits: Sequence[str] = ()
    links: Sequence[tuple[str, str, str]] = ()
    details: Sequence[tuple[str, str]] = field(default=())


def number(value: float, places: int = 1) -> str:
    """Grouped, with as many places; an endless one as a word."""
    return str(number_format(value, places, force_grouping=True)) if math.isfinite(value) else _("no limit")


def span(limits: tuple[float, float] | None, places: int = 1) -> str:
    """Limits, as people say them."""
    if limits is None:
        return "–"
    low, high = limits
    if not math.isfinite(high):
        return _("%(low)s or more") % {"low": number(low, places)}
    return _("%(low)s to %(high)s") % {"low": number(low, places), "high": number(high, places)}


def plain(value: float | None, places: int = 4) -> float | None:
    """As JSON may hold it: rounded, None where it is endless or there is none."""
    return None if value is None or not math.isfinite(value) else round(value, places)


def share(value: float) -> str:
    """A fraction in per cent, rounded up: nothing is called rarer than it is."""
    return _("%(share)s %%") % {"share": number(math.ceil(1000 * value - 1e-9) / 10)}
