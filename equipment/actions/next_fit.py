"""What to take instead of a piece that stays here: the next one of its kind, size and hand that may go out."""

from collections.abc import Iterable, Sequence
from uuid import UUID

from equipment.actions.batch import Batch
from equipment.domain import clock
from equipment.domain.rules import Rules
from equipment.ledger import Draft, Outcome
from equipment.models import ItemState, projections, rules
from equipment.models.scans import ScannedItem

# Refused pieces of one batch for which another is looked up, each by one query.
MOST = 10
# Pieces among which one is looked for.
LOOKED_AT = 30
# Counters begin at different ones of the first few, so that two of them seldom offer the same piece at once.
APART = 8
# What a piece is refused for by itself: another one may do.
OF_THE_PIECE = frozenset(
    "already_out other_store missing written_off stop_use mend_overdue cleaning_due inspection_due disease_flag".split()
)


def offers(
    batch: Batch, rows: Iterable[ScannedItem], decided: Iterable[tuple[Draft, Outcome]]
) -> dict[UUID, str | None]:
    """Of each refused hand-out, by its id, the tag to take instead; None where no fit one lies in this store."""
    by_item = {row.item_id: row for row in rows}
    refused = [(draft, by_item[draft.item]) for draft, outcome in decided if _asks(draft, outcome, by_item)]
    found: dict[UUID, str | None] = {}
    for draft, row in refused[:MOST]:
        taken = {row.tag for _, row in refused} | set(found.values()) - {None}
        found[draft.id] = _next(batch, draft, row, taken)
    return found


def _asks(draft: Draft, outcome: Outcome, rows: dict[UUID, ScannedItem]) -> bool:
    refused = draft.verb == "handed_out" and not outcome.recorded
    return refused and draft.item in rows and bool(OF_THE_PIECE & set(outcome.codes))


def _next(batch: Batch, draft: Draft, row: ScannedItem, taken: set[str | None]) -> str | None:
    at = batch.received_at
    lying = ItemState.objects.fit_at(at).filter(
        store=batch.store, place=ItemState.Place.STORE, packed_in=None
    )
    alike = lying.filter(item__kind=row.kind_id, item__size=row.size, item__hand=row.hand)
    ending = _ending(rules.rules_at(at, row.rules), row.kind_id) if draft.picker is not None else []
    # What has lain longest goes first, before its cleaning has lain too long.
    candidates = alike.exclude(tag__in=taken).order_by("since", "tag").only("tag", "fold", "void")[:LOOKED_AT]
    tags = [each.tag for each in candidates if _still_holds(each, draft.picker, ending)][:APART]
    return tags[batch.device.pk.int % len(tags)] if tags else None


def _ending(in_force: Rules, kind: str) -> list[str]:
    """The cleanings of this kind that another picker ends, and without which it stays here."""
    return [rule.method for rule in in_force.cleaning.get(kind, ()) if rule.other_picker and rule.holds]


def _still_holds(row: ItemState, picker: int | None, ending: Sequence[str]) -> bool:
    """Whether none of the cleanings `ending` ends by this very hand-out, because another picker had the piece since."""
    if not ending:
        return True
    state = projections.folded_item(row).state
    void = {UUID(entry) for entry in row.void}
    cleanings = [clock.last_counting(state, method, void) for method in ending]
    return all(each is None or each.picker in (None, picker) for each in cleanings)
