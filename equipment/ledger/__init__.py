"""The one writer of the book.

`record` is one transaction: it locks (crews, then items by id, the chain's head last), checks, inserts, moves the
chain and updates the states. Nothing else inserts entries, and nothing else changes a state.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any
from uuid import UUID

from equipment.domain import gate
from equipment.ledger.desk import TAGGING, Desk
from equipment.ledger.draft import Draft, Outcome, Recorded, Strictness
from equipment.ledger.lock import lock_crews, writing
from equipment.ledger.rows import columns_of, insert
from equipment.models import ItemState, projections
from equipment.models.scans import ScannedItem

__all__ = ["Draft", "Outcome", "Recorded", "Strictness", "columns_of", "lock_crews", "record", "writing"]

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
        _project(desk, accepted)
    outcomes = {outcome.id: outcome for _, outcome in decided}
    return Recorded([outcomes[draft.id] for draft in drafts], heads)


def _acts(drafts: Sequence[Draft]) -> list[list[Draft]]:
    acts: dict[UUID, list[Draft]] = {}
    for draft in drafts:
        acts.setdefault(draft.act or draft.id, []).append(draft)
    return list(acts.values())


def _decide(desk: Desk, act: list[Draft]) -> list[Decided]:
    """Decide an act: under `hold` whole or not at all."""
    put_back = desk.bookmark({draft.subject for draft in act})
    decided = [_consider(desk, draft) for draft in act]
    if desk.strictness == "note" or all(outcome.recorded for _, outcome in decided):
        return decided
    put_back()
    return [
        (draft, outcome if not outcome.recorded else _left_out(desk, draft)) for draft, outcome in decided
    ]


def _left_out(desk: Desk, draft: Draft) -> Outcome:
    return Outcome(draft.id, False, ("act_refused",), desk.folded(draft.subject).state)


def _consider(desk: Desk, draft: Draft) -> Decided:
    """Decide one draft and, where it is accepted, fold it."""
    before = desk.folded(draft.subject)
    if draft.verb in TAGGING:
        if draft.detail["tag"] in desk.tags:
            return draft, Outcome(draft.id, False, ("malformed",), before.state)
        desk.tags.add(draft.detail["tag"])
    draft, blocking = _judged(desk, desk.timed(draft, before), before.state)
    put_back = desk.bookmark([draft.subject])
    after = desk.add(draft)
    opened = tuple(found for found in after.state.open if found not in before.state.discrepancies)
    if desk.strictness == "hold" and (blocking or opened):
        put_back()
        codes = dict.fromkeys((*blocking, *(found.code for found in opened)))
        return draft, Outcome(draft.id, False, tuple(codes), before.state)
    return draft, Outcome(draft.id, True, tuple(draft.detail.get("verdict", ())), after.state, opened)


def _judged(desk: Desk, draft: Draft, state: Any) -> tuple[Draft, tuple[str, ...]]:
    """The draft with the gate's verdict in its detail, and the codes that block it under `hold`."""
    if draft.verb != "handed_out" or draft.item is None:
        return draft, draft.against
    to = gate.To(draft.store, draft.picker, draft.crew, draft.detail.get("from"), draft.wants)
    verdict = gate.verdict(state, {}, draft.happened_at, to, desk.traits.get(draft.item))
    if codes := [*draft.against, *(reason.code for reason in verdict.reasons)]:
        draft = replace(draft, detail={**draft.detail, "verdict": codes})
    return draft, (*draft.against, *(reason.code for reason in verdict.blocking))


def _project(desk: Desk, accepted: Sequence[Draft]) -> None:
    """Save the states of the subjects that changed, and their discrepancies where those changed."""
    for family, save in (("item", projections.save_items), ("crew", projections.save_crews)):
        touched: dict[Any, Any] = {
            draft.subject[1]: desk.folds[draft.subject] for draft in accepted if draft.subject[0] == family
        }
        if touched:
            save(touched)
        if contested := {key: folded for key, folded in touched.items() if desk.contested((family, key))}:
            projections.save_discrepancies(family, contested)
