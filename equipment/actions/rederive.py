"""What the rules make of the gear is worked out again: after a rule was changed, or when one comes into force."""

from collections.abc import Collection, Iterator
from datetime import datetime
from uuid import UUID

from equipment.actions.refolding import Say, unheard
from equipment.ledger import writing
from equipment.models import ItemState, projections, rules

AT_ONCE = 500


def rederive(at: datetime, kinds: Collection[str] | None = None, say: Say = unheard) -> int:
    """Derive fitness and due times anew by the rules in force at `at`, for items of these kinds or for all; counters
    go on working in between. Returns how many items were looked at."""
    rows = ItemState.objects.exclude(place="gone")
    if kinds is not None:
        rows = rows.filter(item__kind__in=kinds)
    items = list(rows.order_by("pk").values_list("pk", flat=True))
    for done, part in _parts(items):
        with writing():
            locked = ItemState.objects.select_for_update(of=("self",)).filter(pk__in=part).order_by("pk")
            folds = {row.pk: projections.folded_item(row) for row in locked}
            beside = projections.surroundings(folds.values(), rules.rules_at(at))
            projections.save_items(folds, beside)
        say(done, len(items))
    return len(items)


def _parts(items: list[UUID]) -> Iterator[tuple[int, list[UUID]]]:
    for start in range(0, len(items), AT_ONCE):
        part = items[start : start + AT_ONCE]
        yield start + len(part), part
