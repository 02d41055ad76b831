"""From folded states to the rows that lists read, and back."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from pydantic import TypeAdapter

from equipment.domain import gate, values
from equipment.domain.fold import Folded
from equipment.models.book import Entry
from equipment.models.scans import ScannedItem
from equipment.models.states import CrewState, Discrepancy, ItemState, Membership

ITEM: TypeAdapter[Folded[values.ItemState]] = TypeAdapter(Folded[values.ItemState])
CREW: TypeAdapter[Folded[values.CrewState]] = TypeAdapter(Folded[values.CrewState])
NEW_ITEM: Folded[values.ItemState] = Folded(values.ItemState())
NEW_CREW: Folded[values.CrewState] = Folded(values.CrewState())

FOLD_COLUMNS = "id verb happened_at device_id device_seq store_id detail picker_id crew_id block_id".split()
ITEM_COLUMNS = "tag place store picker crew block packed_in since wet fit reasons due_at fold".split()


def folded_item(row: ItemState | ScannedItem) -> Folded[values.ItemState]:
    return ITEM.validate_python(row.fold) if row.fold else NEW_ITEM


def folded_crew(row: CrewState) -> Folded[values.CrewState]:
    return CREW.validate_python(row.fold) if row.fold else NEW_CREW


def as_json(folded: Folded[Any], shape: TypeAdapter[Any]) -> dict[str, Any]:
    """The folded value as a row keeps it; its sets in order, so that the same fold makes the same row."""
    plain: dict[str, Any] = shape.dump_python(folded, mode="json")
    plain["awaited"].sort()
    plain["state"]["settled"].sort()
    return plain


def value_of(row: Entry) -> values.Entry:
    """The entry as a fold sees it."""
    return values.Entry(*(getattr(row, column) for column in FOLD_COLUMNS))


def item_row(item: UUID, folded: Folded[values.ItemState]) -> ItemState:
    state = folded.state
    verdict = gate.verdict(state, {}, datetime.min, gate.To(store=None))
    return ItemState(
        item_id=item,
        tag=state.tag,
        place=state.place,
        store_id=state.store,
        picker_id=state.picker,
        crew_id=state.crew,
        block_id=state.block,
        packed_in_id=state.set,
        since=state.since,
        wet=state.wet,
        fit=verdict.fit,
        reasons=[reason.code for reason in verdict.reasons],
        fold=as_json(folded, ITEM),
    )


def save_items(folds: Mapping[UUID, Folded[values.ItemState]]) -> None:
    ItemState.objects.bulk_create(
        [item_row(item, folded) for item, folded in folds.items()],
        update_conflicts=True,
        unique_fields=["item"],
        update_fields=ITEM_COLUMNS,
    )


def save_crews(folds: Mapping[str, Folded[values.CrewState]]) -> None:
    CrewState.objects.bulk_create(
        [CrewState(crew_id=crew, fold=as_json(folded, CREW)) for crew, folded in folds.items()],
        update_conflicts=True,
        unique_fields=["crew"],
        update_fields=["fold"],
    )
    Membership.objects.filter(crew__in=folds).delete()
    Membership.objects.bulk_create(
        Membership(crew_id=crew, picker_id=picker, since=since)
        for crew, folded in folds.items()
        for picker, since in folded.state.members.items()
    )


def save_discrepancies(field: str, folds: Mapping[Any, Folded[Any]]) -> None:
    """List anew what the folds of these subjects contradict; `field` is item or crew."""
    Discrepancy.objects.filter(**{f"{field}__in": list(folds)}).delete()
    Discrepancy.objects.bulk_create(_listed(field, folds))


def _listed(field: str, folds: Mapping[Any, Folded[Any]]) -> Iterable[Discrepancy]:
    for subject, folded in folds.items():
        for found in folded.state.discrepancies:
            yield Discrepancy(
                **{f"{field}_id": subject},
                code=found.code,
                entry_id=found.entry,
                settled=found.key in folded.state.settled,
            )
