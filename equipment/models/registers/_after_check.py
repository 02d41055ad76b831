"""What the book tells of a crew's day around its morning check, as it stood at given heads: the block that it came
into, and what was done after a check that found something."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from django.db.models import Q
from django.utils import timezone

from equipment.models.book import Entry
from equipment.models.registers.base import Heads
from equipment.models.registers.reading import at_heads, taken_back

Key = tuple[str | None, date]


@dataclass(frozen=True, slots=True)
class Around:
    """By crew and farm's day: its first arrival, as (block, when); and of the days on which something failed, the
    waivers, further checks and hand-outs to the crew as such, in order of time."""

    arrived: dict[Key, tuple[str, datetime]] = field(default_factory=dict)
    done: dict[Key, list[Entry]] = field(default_factory=lambda: defaultdict(list))

    def since(self, check: Entry) -> list[Entry]:
        """Waivers of the day, which may be given at the counter before the check; the rest only after it."""
        told = self.done.get(key(check), [])
        return [row for row in told if row.verb == "waived" or row.happened_at > check.happened_at]


def key(row: Entry) -> Key:
    return row.crew_id, timezone.localdate(row.happened_at)


def around(checks: Sequence[Entry], heads: Heads) -> Around:
    """Two queries, and one for each family of what may have been taken back."""
    found = Around()
    if not checks:
        return found
    crews = {check.crew_id for check in checks}
    failed = {key(check) for check in checks if check.detail.get("failed")}
    days = timedelta(days=1)
    span = Q(
        happened_at__gt=checks[0].happened_at - days,
        happened_at__lt=checks[-1].happened_at + days,
        crew__in=crews,
    )
    rows = list(at_heads(heads).filter(span, verb="arrived").order_by("happened_at", "id"))
    if failed:
        kinds = Q(verb__in=("waived", "morning_checked"), item=None) | Q(verb="handed_out", picker=None)
        told = at_heads(heads).filter(span & kinds, crew__in={crew for crew, _day in failed})
        rows += told.select_related("item").order_by("happened_at", "id")
    undone = taken_back(rows, heads)
    for row in rows:
        if row.pk in undone:
            continue
        if row.verb == "arrived":
            found.arrived.setdefault(key(row), (row.block_id or row.detail["block"], row.happened_at))
        elif key(row) in failed:
            found.done[key(row)].append(row)
    return found
