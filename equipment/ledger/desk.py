"""The states that one `record` works on, in memory until all of it is decided."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from equipment.domain import values
from equipment.domain.fold import Folded, extend, extends, fold
from equipment.domain.verbs import STEPS
from equipment.ledger.draft import Draft, Strictness, Subject
from equipment.ledger.lock import lock_baths, lock_crews, lock_lots
from equipment.ledger.surroundings import Dips, touched
from equipment.models import CrewState, ItemState, Label, deriving, projections, rules, scans
from equipment.models.histories import Family, entries_of
from equipment.models.projections import Surroundings
from equipment.models.scans import ScannedItem

# A clock less wrong than this is not corrected, so two counters may differ by as much.
CLOCK_TOLERANCE = timedelta(seconds=120)
Locked = ItemState | ScannedItem
SUBJECTS: Mapping[Family, str] = {"item": "item_id", "crew": "crew_id", "bath": "bath", "lot": "lot"}
TAGGING = ("registered", "retagged")


class Desk:
    """Loads and locks every subject of `drafts`, then folds them one draft at a time.

    `folds` are the states so far, `before` those at the start. A subject whose new entry is not simply the next one
    is folded from all its stored entries; those histories are read together, once.
    """

    def __init__(
        self,
        drafts: Sequence[Draft],
        items: Mapping[UUID, Locked],
        strictness: Strictness,
        at: datetime,
    ) -> None:
        self.strictness = strictness
        self.at = at
        self.before: dict[Subject, Folded[Any]] = {}
        self.traits: dict[UUID, dict[str, str]] = {}
        self._histories: dict[Subject, list[values.Entry]] = {}
        self._pending: dict[Subject, list[values.Entry]] = {}
        self._void: dict[UUID, str] = {}
        self._newest_rules: int | None = None
        self._lock_crews(drafts)
        self._lock_baths(drafts)
        self._lock_items(drafts, items)
        self._lock_lots(drafts)
        self.folds = dict(self.before)
        self._read_histories(self._late(drafts))
        tags = [draft.detail["tag"] for draft in drafts if draft.verb in TAGGING]
        self.tags = set(Label.objects.filter(code__in=tags).values_list("code", flat=True)) if tags else set()
        self.rules = rules.rules_at(at, self._newest_rules)
        self.beside = Surroundings(self.rules, self._visits(drafts), self._void)
        self.dips = Dips(self._void, drafts)

    def _lock_crews(self, drafts: Sequence[Draft]) -> None:
        crews = {draft.crew for draft in drafts if draft.subject[0] == "crew"}
        if crews:
            lock_crews(crew for crew in crews if crew)
            for row in CrewState.objects.filter(crew__in=crews):
                self.before["crew", row.crew_id] = projections.folded_crew(row)

    def _lock_baths(self, drafts: Sequence[Draft]) -> None:
        for row in lock_baths(draft.bath for draft in drafts if draft.bath is not None):
            self.before["bath", row.bath] = projections.folded_bath(row)

    def _lock_items(self, drafts: Sequence[Draft], items: Mapping[UUID, Locked]) -> None:
        wanted = {draft.item for draft in drafts if draft.item and draft.verb != "registered"}
        self.touched = touched(drafts)
        wanted = (wanted | self.touched) - set(items)
        rows: list[Locked] = list(items.values())
        rows += scans.touched_for_update(wanted)
        for row in rows:
            self.before["item", row.item_id] = projections.folded_item(row)
            self.traits[row.item_id] = row.traits
            self._void |= {UUID(entry): why for entry, why in row.void.items()}
            self._newest_rules = getattr(row, "rules", self._newest_rules)

    def _lock_lots(self, drafts: Sequence[Draft]) -> None:
        for row in lock_lots(draft.lot for draft in drafts if draft.lot is not None):
            self.before["lot", row.lot] = projections.folded_lot(row)

    def _visits(self, drafts: Sequence[Draft]) -> dict[str, Sequence[values.Visit]]:
        """Of the crews that had these items, and of those that are given them now; as they are at this desk where it
        writes of the crew itself."""
        states = [folded.state for (family, _), folded in self.before.items() if family == "item"]
        crews, since = deriving.needed_visits(states)
        if since is not None:
            crews |= {draft.crew for draft in drafts if draft.verb == "handed_out" and draft.crew}
        return dict(deriving.visits(crews, since))

    def _late(self, drafts: Sequence[Draft]) -> set[Subject]:
        """Subjects with an entry that is not simply the next one."""
        ends = dict(self.before)
        late: set[Subject] = set()
        for draft in drafts:
            if (folded := ends.get(draft.subject)) is None:
                continue
            value = self.timed(draft, folded).value
            if not extends(folded, value):
                late.add(draft.subject)
            key = (value.happened_at, value.device, value.device_seq, value.id)
            tails = {**folded.tails, str(value.device): value.device_seq}
            ends[draft.subject] = Folded(folded.state, max(folded.last or key, key), tails, folded.awaited)
        return late

    def _read_histories(self, subjects: Iterable[Subject]) -> None:
        for name, column in SUBJECTS.items():
            ids = [key for family, key in subjects if family == name]
            if not ids:
                continue
            self._histories |= {(name, key): [] for key in ids}
            rows = entries_of(name).filter(**{f"{name}__in": ids})
            for row in rows.only(*projections.FOLD_COLUMNS, "item_id"):
                self._histories[name, getattr(row, column)].append(projections.value_of(row))

    def timed(self, draft: Draft, folded: Folded[Any]) -> Draft:
        """`draft` not later than its receipt and, at a counter whose clock is a little behind another's, not before
        what that other one has just recorded."""
        happened = min(draft.happened_at, self.at)
        if self.strictness == "hold" and folded.last is not None:
            last = folded.last[0]
            if timedelta(0) <= last - happened <= CLOCK_TOLERANCE:
                happened = min(last + timedelta(microseconds=1), self.at)
        return draft if happened == draft.happened_at else replace(draft, happened_at=happened)

    def folded(self, subject: Subject) -> Folded[Any]:
        return self.folds.get(subject, projections.NEW[subject[0]])

    def add(self, draft: Draft) -> Folded[Any]:
        """The subject folded with `draft` as well."""
        subject, value = draft.subject, draft.value
        folded = self.folded(subject)
        self._pending.setdefault(subject, []).append(value)
        if subject not in self._histories and extends(folded, value):
            folded = extend(folded, value, STEPS)
        else:
            folded = self._refolded(subject)
        self.folds[subject] = folded
        if subject[0] == "crew":
            self.beside.visits[subject[1]] = folded.state.visits
        return folded

    def _refolded(self, subject: Subject) -> Folded[Any]:
        if subject not in self._histories:
            self._read_histories([subject])
        start: Any = projections.NEW[subject[0]].state
        return fold([*self._histories[subject], *self._pending[subject]], start, STEPS)

    def bookmark(self, subjects: Iterable[Subject]) -> Callable[[], None]:
        """A call that puts these subjects, and the tags in use, back as they are now."""
        kept = [(s, self.folds.get(s), list(self._pending.get(s, ()))) for s in subjects]
        tags = set(self.tags)

        def put_back() -> None:
            self.tags = tags
            for subject, folded, pending in kept:
                self._pending[subject] = pending
                if folded is None:
                    self.folds.pop(subject, None)
                else:
                    self.folds[subject] = folded
                if subject[0] == "crew":
                    self.beside.visits[subject[1]] = self.folded(subject).state.visits

        return put_back

    def settled_surroundings(self, accepted: Sequence[Draft]) -> Surroundings:
        """What stands around the items of this desk now that all is decided and written down; asked anew where a dip,
        a bath or a taking-back may have changed which cleanings count."""
        if not any(draft.bath or draft.verb == "reversed" for draft in accepted):
            return Surroundings(self.rules, self.beside.visits, self._void)
        items = [folded for (family, _), folded in self.folds.items() if family == "item"]
        baths = {key: folded.state for (family, key), folded in self.folds.items() if family == "bath"}
        return projections.surroundings(items, self.rules, baths)

    def contested(self, subject: Subject) -> bool:
        """Whether the discrepancies of the subject, or which of them are settled, have changed."""
        before, after = self.before.get(subject), self.folds[subject].state
        if before is None:
            return bool(after.discrepancies)
        return (after.discrepancies, after.settled) != (before.state.discrepancies, before.state.settled)
