"""The lives of items as they stood at given heads: for registers that say what became of something."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from itertools import groupby
from operator import itemgetter
from uuid import UUID

from django.db.models import Q

from equipment.domain import values
from equipment.domain.fold import ordered, reversals
from equipment.models.registers.base import Cell, Heads, Named
from equipment.models.registers.reading import at_heads

COLUMNS = (
    "item_id id verb happened_at device_id device_seq store_id detail picker_id crew_id block_id bath by_id "
    "note_digest"
).split()
ROWS_AT_ONCE = 2_000


@dataclass(frozen=True, slots=True)
class Stood(values.Entry):
    """An entry as it stood; `seal` is the digest of its note, "" where it has none."""

    seal: str = ""

    @property
    def note(self) -> Cell:
        return Named("note", str(self.id), self.seal) if self.seal else None


def lives(
    items: Collection[UUID], heads: Heads, verbs: Collection[str], only: Q | None = None
) -> Iterator[tuple[UUID, list[Stood]]]:
    """Each item's entries of `verbs`, such as `only` lets by, in the order in which they are folded, without those
    taken back. One query."""
    wanted = Q(verb__in=verbs) & (only or Q()) | Q(verb="reversed")
    rows = at_heads(heads).filter(wanted, item__in=items).order_by("item")
    found = rows.values_list(*COLUMNS).iterator(chunk_size=ROWS_AT_ONCE)
    for item, group in groupby(found, key=itemgetter(0)):
        entries = [_stood(*row[1:]) for row in group]
        undone = reversals(entries)
        told = (entry for _key, entry in ordered(entries) if entry.verb != "reversed")
        yield item, [entry for entry in told if entry.id not in undone]  # type: ignore[misc]


def _stood(*row: object) -> Stood:
    *fields, bath, by, seal = row
    return Stood(*fields, bath=bath, by=by, seal=seal or "")  # type: ignore[arg-type]
