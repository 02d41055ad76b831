"""From the codes in a batch of entries to the rows they name: a few queries, however many entries."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import lru_cache
from uuid import UUID

from django.db import connection

from crews.models import Block, Crew, Store, User
from equipment.actions.crew_then import crew_of, crew_then
from equipment.actions.leading import Leading, Taking, leading
from equipment.domain import codes
from equipment.ledger import Draft, lock_baths, lock_crews, touched
from equipment.models import BathState, Entry, Goods, Kind, LotState, scans
from equipment.models.scans import ScannedItem, ScannedLoan

SIZES = {"gloves": "glove_size", "glove": "glove_size", "gumboots": "boot_size", "overalls": "overall_size"}


@dataclass(frozen=True, slots=True)
class Asked:
    """The codes that a batch names, each as `normal` writes it (`subjects` are the crews that it writes of); the
    entries that it takes back; the crews that it takes over; who asks; whether as notes."""

    items: frozenset[str] = frozenset()
    badges: frozenset[str] = frozenset()
    crews: frozenset[str] = frozenset()
    blocks: frozenset[str] = frozenset()
    stores: frozenset[str] = frozenset()
    kinds: frozenset[str] = frozenset()
    subjects: frozenset[str] = frozenset()
    undone: frozenset[UUID] = frozenset()
    baths: frozenset[UUID] = frozenset()
    goods: frozenset[str] = frozenset()
    lots: frozenset[UUID] = frozenset()
    taking: tuple[Taking, ...] = ()
    by: User | None = None
    notes: bool = False


@dataclass(slots=True)
class References:
    """The rows found, by code; `baths` and `lots` are those that stand in the book. `verbs` are those of the entries
    that it takes back; `leading` says which crews the one who asks leads, read where that limits them.

    `items`, `baths` and `lots` grow while a batch makes new ones, `handed` (item -> when, to which crew) while it hands
    out, `moved` (picker -> when, into which crew, None: out of it) while it lends pickers.
    """

    states: Mapping[str, ScannedItem] = field(default_factory=dict)
    items: dict[str, UUID] = field(default_factory=dict)
    loans: Mapping[str, list[ScannedLoan]] = field(default_factory=dict)
    crews: frozenset[str] = frozenset()
    blocks: frozenset[str] = frozenset()
    stores: frozenset[str] = frozenset()
    kinds: frozenset[str] = frozenset()
    verbs: Mapping[UUID, str] = field(default_factory=dict)
    leading: Leading = field(default_factory=Leading)
    baths: set[UUID] = field(default_factory=set)
    goods: frozenset[str] = frozenset()
    lots: set[UUID] = field(default_factory=set)
    died_later: bool = False
    handed: dict[UUID, list[tuple[datetime, str]]] = field(default_factory=dict)
    moved: dict[int, list[tuple[datetime, str | None]]] = field(default_factory=dict)

    def crew_then(self, loan: ScannedLoan, at: datetime) -> tuple[str | None, bool]:
        """As `crew_then`, with what the batch itself has said of the picker so far."""
        moved = self._moved_to(loan.picker_id, at)
        return (moved, True) if moved else crew_then(loan, at)

    def crew_of(self, picker: int, at: datetime) -> str | None:
        """As `crew_of`, with what the batch itself has said of the picker so far."""
        return self._moved_to(picker, at) or crew_of(picker, at)

    def _moved_to(self, picker: int, at: datetime) -> str | None:
        said = [move for move in self.moved.get(picker, ()) if move[0] <= at]
        return max(said, key=lambda move: move[0])[1] if said else None

    def loan(self, badge: str, day: date) -> ScannedLoan | None:
        """The loan of `badge` in force on `day`, if the card was alive then; with `died_later`, also on the very day
        it died: a note tells of that morning, before it was lost."""
        for loan in self.loans.get(badge, ()):
            died_on = loan.died_on
            dead = died_on is not None and (died_on < day if self.died_later else died_on <= day)
            if not dead and loan.from_day <= day and (loan.to_day is None or day <= loan.to_day):
                return loan
        return None


@lru_cache(maxsize=8192)
def normal(text: str) -> str:
    """A code as the book writes it; what is no made code (a block "n4") just in capitals. Raises codes.WrongCheck."""
    try:
        return codes.parse(text).text
    except codes.NotACode:
        return text.strip().upper()


def find(asked: Asked) -> References:
    """Look up all that is not written to: once for a batch, before anybody has to wait for it."""
    return References(
        loans=_by_badge(scans.loans(sorted(asked.badges))),
        crews=_known(Crew, asked.crews),
        blocks=_known(Block, asked.blocks),
        stores=_known(Store, asked.stores),
        kinds=_known(Kind, asked.kinds),
        leading=leading(asked.by, asked.taking),
        baths=_baths(asked.baths),
        goods=_known(Goods, asked.goods),
        lots=_lots(asked.lots),
        died_later=asked.notes,
    )


def lock(found: References, asked: Asked, drafts: Sequence[Draft]) -> None:
    """Put in what is written to: crews, then baths, then the states of items come locked, as the ledger locks them;
    with those items, in one order, also what `drafts` touch. SQLite has one writer anyhow."""
    lock_crews(asked.subjects)
    if connection.vendor != "sqlite":
        lock_baths(asked.baths)
        if asked.items and (beside := touched(drafts)):
            scans.lock_both(sorted(asked.items), beside)
    found.states = {row.tag: row for row in scans.items_for_update(sorted(asked.items))}
    found.items = {tag: row.item_id for tag, row in found.states.items()}
    found.verbs = _verbs(asked.undone)


def _baths(wanted: Iterable[UUID]) -> set[UUID]:
    """Those of `wanted` that were mixed."""
    wanted = list(wanted)
    if not wanted:
        return set()
    known = BathState.objects.filter(pk__in=wanted, mixed_at__isnull=False)
    return set(known.values_list("pk", flat=True))


def _lots(wanted: Iterable[UUID]) -> set[UUID]:
    """Those of `wanted` that were received."""
    wanted = list(wanted)
    if not wanted:
        return set()
    return set(LotState.objects.filter(pk__in=wanted, goods__isnull=False).values_list("pk", flat=True))


def _verbs(entries: Iterable[UUID]) -> dict[UUID, str]:
    entries = list(entries)
    return dict(Entry.objects.filter(pk__in=entries).values_list("pk", "verb")) if entries else {}


def _by_badge(found: Iterable[ScannedLoan]) -> dict[str, list[ScannedLoan]]:
    by_badge: dict[str, list[ScannedLoan]] = {}
    for loan in found:
        by_badge.setdefault(loan.badge_id, []).append(loan)
    return by_badge


def _known(
    model: type[Crew] | type[Block] | type[Store] | type[Kind] | type[Goods], wanted: Iterable[str]
) -> frozenset[str]:
    wanted = list(wanted)
    return (
        frozenset(model.objects.filter(pk__in=wanted).values_list("pk", flat=True)) if wanted else frozenset()
    )


def wants(loan: ScannedLoan, item: ScannedItem) -> dict[str, str]:
    """The picker's own size and hand for such an item; "" where not known."""
    size = getattr(loan, SIZES.get(item.kind_id, ""), "")
    return {"size": size, "hand": loan.hand if item.of_a_hand else ""}
