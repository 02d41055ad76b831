"""The one writer of the book.

`record` is one transaction: it locks (crews, then baths, then items by id, then lots, the chain's head last), checks,
inserts, moves the chain and updates the states. Nothing else inserts entries, and nothing else changes a state.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any
from uuid import UUID

from equipment.domain.fold import Folded
from equipment.ledger import judging, watched
from equipment.ledger.desk import TAGGING, Desk
from equipment.ledger.draft import Draft, Outcome, Recorded, Strictness
from equipment.ledger.lock import lock_baths, lock_crews, writing
from equipment.ledger.rows import columns_of, insert
from equipment.ledger.surroundings import touched
from equipment.models import ItemState, projections
from equipment.models.projections import Surroundings
from equipment.models.scans import ScannedItem

__all__ = [
    "Draft",
    "Outcome",
    "Recorded",
    "Strictness",
    "columns_of",
    "lock_baths",
    "lock_crews",
    "record",
    "touched",
    "writing",
]

Decided = tuple[Draft, Outcome]


def record(
    drafts: Sequence[Draft],
    *,
    strictness: Strictness,
    at: datetime,
    items: Mapping[UUID, ItemState | ScannedItem] | None = None,
) -> Recorded:
    """Record `drafts` in order, at `at` (UTC, the server's time of receipt); their ids must be new.

    Under `hold` a draft that the gate or the fold speaks against is refused, and with it every other draft of its
    act; under `note` all are recorded, and what contradicts becomes a discrepancy. `items` are states that the caller
    has locked already, by item id. Raises IntegrityError where another writer used an id meanwhile: the caller asks
    again from the start.
    """
    with writing():
        desk = Desk(drafts, items or {}, strictness, at)
        decided = [pair for act in _acts(drafts) for pair in _decide(desk, act)]
        accepted = [draft for draft, outcome in decided if outcome.recorded]
        heads = insert(accepted, at) if accepted else {}
        if accepted:
            watched.wrote(accepted, {store: head.position for store, head in heads.items()})
        around = _project(desk, accepted)
    outcomes = {draft.id: _standing(desk, draft, outcome, around) for draft, outcome in decided}
    return Recorded([outcomes[draft.id] for draft in drafts], heads)


def _acts(drafts: Sequence[Draft]) -> list[list[Draft]]:
    acts: dict[UUID, list[Draft]] = {}
    for draft in drafts:
        acts.setdefault(draft.act or draft.id, []).append(draft)
    return list(acts.values())


def _decide(desk: Desk, act: list[Draft]) -> list[Decided]:
    """Decide an act: under `hold` whole or not at all."""
    if desk.strictness == "note":
        return [_consider(desk, draft) for draft in act]
    put_back = desk.bookmark({draft.subject for draft in act})
    decided = [_consider(desk, draft) for draft in act]
    if all(outcome.recorded for _, outcome in decided):
        return decided
    put_back()
    return [
        (draft, Outcome(draft.id, False, ("act_refused",)) if outcome.recorded else outcome)
        for draft, outcome in decided
    ]


def _consider(desk: Desk, draft: Draft) -> Decided:
    """Decide one draft and, where it is accepted, fold it."""
    before = desk.folded(draft.subject)
    if draft.verb in TAGGING:
        if draft.detail["tag"] in desk.tags:
            return draft, Outcome(draft.id, False, ("malformed",))
        desk.tags.add(draft.detail["tag"])
    draft = judging.sealed(desk, desk.timed(draft, before))
    draft, verdict = judging.judged(desk, draft, before.state)
    put_back = desk.bookmark([draft.subject]) if desk.strictness == "hold" else None
    after = desk.add(draft)
    opened = tuple(found for found in after.state.open if found not in before.state.discrepancies)
    if put_back and (verdict.blocking or opened):
        put_back()
        codes = dict.fromkeys((*verdict.blocking, *(found.code for found in opened)))
        return draft, Outcome(draft.id, False, tuple(codes), verdict.reasons)
    said = (*verdict.codes, *judging.said_of(desk, draft, before.state))
    return draft, Outcome(draft.id, True, said, verdict.reasons, opened, after.state)


def _standing(desk: Desk, draft: Draft, outcome: Outcome, around: Surroundings) -> Outcome:
    """The outcome with the state to answer with: a counter's as the draft left it, a note's as all of them did."""
    state = outcome.state if desk.strictness == "hold" else None
    state = state or desk.folded(draft.subject).state
    return replace(outcome, state=state, condition=around.condition(state) if draft.item else None)


def _project(desk: Desk, accepted: Sequence[Draft]) -> Surroundings:
    """Save the states of the subjects that changed and of the items that they touch, and their discrepancies where
    those changed; gives what stands around the items then."""
    changed: dict[str, dict[Any, Folded[Any]]] = {"item": {}, "crew": {}, "bath": {}, "lot": {}}
    for family, key in dict.fromkeys(draft.subject for draft in accepted):
        changed[family][key] = desk.folds[family, key]
    if changed["crew"]:
        before = {key: folded.state for (family, key), folded in desk.before.items() if family == "crew"}
        projections.save_crews(changed["crew"], before)
    if changed["bath"]:
        projections.save_baths(changed["bath"])
    if changed["lot"]:
        projections.save_lots(changed["lot"])
    around = desk.settled_surroundings(accepted)
    if accepted:
        beside = {key: desk.folds["item", key] for key in desk.touched if key not in changed["item"]}
        projections.save_derived(beside, around)
    if changed["item"]:
        projections.save_items(changed["item"], around)
    for family, folds in changed.items():
        if contested := {key: each for key, each in folds.items() if desk.contested((family, key))}:
            projections.save_discrepancies(family, contested)
    return around
