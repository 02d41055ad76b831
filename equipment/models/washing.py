"""What a store's wash place looks at: what is due to be cleaned, the baths that stand there, and the dips in each."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.utils.dateparse import parse_datetime

from equipment.domain import bath as baths
from equipment.domain import values
from equipment.domain.verbs.cleaned import KEPT
from equipment.models import deriving, projections
from equipment.models.book import Entry
from equipment.models.states import BathState, ItemState

# A store with more than this lying uncleaned reads as many, those first that fell due first.
MOST_DUE = 2000
MOST_BATHS = 30


@dataclass(frozen=True, slots=True)
class CleaningDue:
    """One piece and one cleaning of it. `holds`: while it is due, the piece stays here."""

    tag: str
    kind: str
    method: str
    cause: str
    at: datetime
    holds: bool


@dataclass(frozen=True, slots=True)
class StandingBath:
    """A bath that was not emptied. `dipped` pieces were in it; `against` says why it takes no more, None where it
    does."""

    own: UUID
    state: values.BathState
    dipped: int
    against: str | None


@dataclass(frozen=True, slots=True)
class Dip:
    """A piece that was in a bath; `why` it does not count, "" where it does. `row` is the piece as it is now."""

    entry: UUID
    at: datetime
    row: ItemState
    why: str

    def due_again(self, at: datetime) -> bool:
        """Whether the piece must be sterilised at `at`: it may have been in another bath since."""
        return any(due.method == "sterilise" and due.at <= at for due in cleanings_due(self.row))


def due_in(store: str, until: datetime) -> list[CleaningDue]:
    """What lies in `store` and is due by `until`, what fell due first in front. One query."""
    rows = ItemState.objects.filter(store=store, place__in=("store", "bench"), due_at__lte=until)
    rows = rows.order_by("due_at", "tag").select_related("item").only("tag", "due", "item__kind_id")
    found = [due for row in rows[:MOST_DUE] for due in cleanings_due(row) if due.at <= until]
    return sorted(found, key=lambda due: (due.at, due.tag))


def cleanings_due(row: ItemState) -> list[CleaningDue]:
    """The cleanings of one piece that have a time, past or to come."""
    found = []
    for each in row.due:
        at = parse_datetime(each["at"]) if each["what"] == "clean" and each["at"] else None
        if at is not None:
            cause = each["cause"] or ""
            found.append(CleaningDue(row.tag, row.item.kind_id, each["name"], cause, at, each["holds"]))
    return found


def standing(store: str, at: datetime) -> list[StandingBath]:
    """The baths of `store` that were not emptied, the one mixed last in front. Three queries."""
    rows = BathState.objects.filter(store=store, mixed_at__isnull=False, emptied_at=None)
    return _looked_at(list(rows.order_by("-mixed_at")[:MOST_BATHS]), at)


def standing_in(stores: Collection[str], at: datetime) -> list[StandingBath]:
    """The baths of these stores that take a piece at `at`, the one mixed last in front. Three queries at most."""
    rows = BathState.objects.standing(at).filter(store__in=list(stores)).order_by("-mixed_at")
    return [each for each in _looked_at(list(rows[:MOST_BATHS]), at) if each.against is None]


def one(row: BathState, at: datetime) -> StandingBath:
    return _looked_at([row], at)[0]


def _looked_at(rows: Collection[BathState], at: datetime) -> list[StandingBath]:
    states = {row.bath: projections.folded_bath(row).state for row in rows}
    dipped = {own: len(dips) for own, dips in deriving.dips_in(set(states)).items()}
    return [
        StandingBath(own, state, dipped[own], baths.against_now(state, at, dipped[own]))
        for own, state in states.items()
    ]


def dips(own: UUID, state: values.BathState) -> list[Dip]:
    """The dips in a bath in order of time, but those that were taken back. Four queries."""
    in_it = deriving.dips_in({own})[own]
    entries = Entry.objects.filter(bath=own, verb="cleaned").only("item", "detail").in_bulk()
    items = {entry.item_id for entry in entries.values()}
    rows = ItemState.objects.filter(pk__in=items)
    rows = rows.select_related("item__kind", "picker", "crew", "store", "block")
    by_item = rows.in_bulk()
    found = []
    for nth, (at, entry) in enumerate(in_it, start=1):
        row = by_item[entries[entry].item_id]
        why = _against_itself(entries[entry], at, row) or baths.against_dip(state, at, nth) or ""
        found.append(Dip(entry, at, row, why))
    return found


def _against_itself(entry: Entry, at: datetime, row: ItemState) -> str:
    """Why the dip does not count, whatever its bath was; "" where nothing is known against it."""
    detail = entry.detail
    if detail.get("wrong"):
        return str(detail["wrong"])
    if (detail.get("seconds") or 0) < (detail.get("needs_seconds") or 0):
        return "too_short"
    same = [c for c in projections.folded_item(row).state.cleanings if c.method == detail["method"]]
    forgotten = len(same) >= KEPT and at < same[0].at
    return "" if forgotten or any(c.entry == entry.pk for c in same) else "dirt_first"
