"""Whom a `record` touches beside its own subjects, and which dips of it count."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from uuid import UUID

from equipment.domain import bath
from equipment.domain.values import BathState
from equipment.ledger.draft import Draft
from equipment.models import Entry, deriving, touching

VISITING = frozenset({"arrived", "left", "stopped", "reversed"})


def touched(drafts: Sequence[Draft]) -> set[UUID]:
    """Items whose condition may change by entries of their crews and their baths: those that the crew's pickers have
    now or had since, and those that were dipped in the bath."""
    crews: dict[str, datetime] = {}
    for draft in drafts:
        if draft.subject[0] == "crew" and draft.verb in VISITING and draft.crew:
            crews[draft.crew] = min(draft.happened_at, crews.get(draft.crew, draft.happened_at))
    if undone := [UUID(d.detail["entry"]) for d in drafts if d.verb == "reversed" and d.subject[0] == "crew"]:
        for crew, at in Entry.objects.filter(pk__in=undone, crew__in=crews).values_list(
            "crew", "happened_at"
        ):
            crews[crew] = min(at, crews[crew])
    baths = {d.bath for d in drafts if d.bath and (d.subject[0] == "bath" or d.verb == "cleaned")}
    if undone := [UUID(d.detail["entry"]) for d in drafts if d.verb == "reversed" and d.item]:
        dips = Entry.objects.filter(pk__in=undone, verb="cleaned", bath__isnull=False)
        baths |= set(dips.values_list("bath", flat=True))
    return touching.touched(crews, baths)


class Dips:
    """The dips of one `record`, counted on from those that the book has, and why some do not count."""

    def __init__(self, void: dict[UUID, str], drafts: Iterable[Draft]) -> None:
        self.void = void
        self._baths = {draft.bath for draft in drafts if draft.bath and draft.verb == "cleaned"}
        self._dipped: dict[UUID, int] = {}

    def add(self, draft: Draft, state: BathState) -> str | None:
        """Why the bath says that this dip does not count; None where it does, or was in no bath."""
        if draft.bath is None:
            return None
        if not self._dipped:
            self._dipped = {bath: len(dips) for bath, dips in deriving.dips_in(self._baths).items()}
        self._dipped[draft.bath] += 1
        why = bath.against_dip(state, draft.happened_at, self._dipped[draft.bath])
        if why:
            self.void[draft.id] = why
        return why
