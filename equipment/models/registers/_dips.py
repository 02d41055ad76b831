"""Which cleanings count, as the book stood at given heads: by their own words, by the piece, and by their bath.

Folded from the entries at the heads, never read from what the lists show: a test that fails tomorrow voids a dip of
today there, and the paper of today must still agree with the book.
"""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property
from typing import Any
from uuid import UUID

from django.db.models import Q

from equipment.domain import bath as baths
from equipment.domain import faults
from equipment.domain.fold import fold
from equipment.domain.values import BathState, ItemState
from equipment.domain.values import Entry as Value
from equipment.domain.verbs import STEPS, cleaned
from equipment.domain.words import gettext_noop
from equipment.models import projections
from equipment.models.book import Entry
from equipment.models.registers.base import Heads
from equipment.models.registers.reading import all_taken_back, at_heads, where

WORDS: Mapping[str, str] = {
    **baths.WORDS,
    "too_short": gettext_noop("it acted for less than the recipe asks"),
    "dirt_first": gettext_noop("dirt must be washed off before a dip"),
    "no_recipe": gettext_noop("no bath and no recipe was named"),
    "wrong_recipe": gettext_noop("the recipe is not for this kind of gear"),
    "written_off": gettext_noop("by the book the piece had been written off"),
}
# Whole lives are read of so many pieces at once.
LIVES = 100


@dataclass(frozen=True, slots=True)
class Bath:
    """`mixed` is where in the book its mixing stands, "" where that is not known; `void` says of its dips, by entry,
    why the bath does not let them count."""

    state: BathState
    mixed: str
    void: Mapping[UUID, str]


@dataclass
class Verdicts:
    """Ask page by page, in order of time: baths are kept while pages name them, and of the pieces only which of them
    ever had trouble."""

    heads: Heads
    baths: dict[UUID, Bath] = field(default_factory=dict)
    _against: dict[UUID, str] = field(default_factory=dict)
    _troubled: set[UUID | None] = field(default_factory=set)
    _looked_until: datetime | None = None

    @cached_property
    def _undone(self) -> frozenset[UUID]:
        return all_taken_back(self.heads)

    def look(self, page: Sequence[Entry]) -> None:
        """Read what the entries of this page depend on: a number of queries that does not grow with them."""
        named = {row.bath for row in page if row.bath is not None}
        self.baths = {own: known for own, known in self.baths.items() if own in named}
        self.baths |= self._folded(named - self.baths.keys())
        self._against = self._by_their_pieces([row for row in page if row.verb == "cleaned"])

    def why_not(self, row: Entry) -> str:
        """Why a cleaning of the page does not count, a word of `WORDS`; "" where it does."""
        own = cleaned.fails(ItemState(), projections.value_of(row)) or self._against.get(row.pk, "")
        return own or (self.baths[row.bath].void.get(row.pk, "") if row.bath else "")

    def _folded(self, wanted: Collection[UUID]) -> dict[UUID, Bath]:
        if not wanted:
            return {}
        told: dict[UUID, list[Entry]] = defaultdict(list)
        for row in at_heads(self.heads).filter(item=None, bath__in=wanted).order_by("happened_at", "id"):
            told[row.bath].append(row)
        dips = self._dips_in(wanted)
        return {own: _bath(told[own], dips[own]) for own in wanted}

    def _dips_in(self, wanted: Collection[UUID]) -> dict[UUID, list[Any]]:
        """All dips in these baths but those that were taken back, in order of time: (when, entry)."""
        # The verb is looked at here: an index by verb would lead past all cleanings there ever were.
        rows = at_heads(self.heads).filter(bath__in=wanted).order_by("happened_at", "id")
        found: dict[UUID, list[Any]] = defaultdict(list)
        for own, at, entry, verb in rows.values_list("bath", "happened_at", "id", "verb"):
            if verb == "cleaned" and entry not in self._undone:
                found[own].append((at, entry))
        return found

    def _by_their_pieces(self, dips: Sequence[Entry]) -> dict[UUID, str]:
        """What the lives of the pieces have against these cleanings: dirt, or a write-off. Few ever had either."""
        if not dips:
            return {}
        self._look_for_trouble(dips[-1].happened_at)
        found: dict[UUID, str] = {}
        for life in self._lives(sorted({row.item_id for row in dips} & self._troubled)):
            fold(life, ItemState(), {**STEPS, "cleaned": _noting(found)})
        return found

    def _look_for_trouble(self, until: datetime) -> None:
        """Which pieces were found dirty or written off, from where the page before ended."""
        trouble = Q(verb="written_off") | Q(verb="fault_found", detail__fault=faults.DIRTY)
        trouble |= Q(verb="inspected", detail__failed__isnull=False)
        rows = at_heads(self.heads).filter(trouble, happened_at__lte=until)
        if self._looked_until is not None:
            rows = rows.filter(happened_at__gt=self._looked_until)
        for item, verb, detail in rows.values_list("item", "verb", "detail"):
            if verb != "inspected" or faults.DIRTY in detail["failed"].values():
                self._troubled.add(item)
        self._looked_until = until

    def _lives(self, pieces: Sequence[Any]) -> Iterator[list[Value]]:
        for start in range(0, len(pieces), LIVES):
            some = pieces[start : start + LIVES]
            lives: dict[UUID, list[Value]] = defaultdict(list)
            for row in at_heads(self.heads).filter(item__in=some):
                lives[row.item_id].append(projections.value_of(row))
            yield from lives.values()


def _bath(told: Sequence[Entry], dips: Sequence[Any]) -> Bath:
    state = fold(map(projections.value_of, told), BathState(), STEPS).state
    mixed = next((where(row) for row in told if row.verb == "mixed" and state.mixed_at), "")
    looked_at = ((dip, baths.against_dip(state, at, nth)) for nth, (at, dip) in enumerate(dips, start=1))
    return Bath(state, mixed, {dip: why for dip, why in looked_at if why})


def _noting(found: dict[UUID, str]) -> Any:
    """The step of `cleaned` that also writes down what the piece has against it."""

    def step(state: ItemState, entry: Value) -> ItemState:
        if why := "written_off" if state.place == "gone" else cleaned.fails(state, entry):
            found[entry.id] = why
        return cleaned.step(state, entry)

    return step
