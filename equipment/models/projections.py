"""From folded states to the rows that lists read, and back."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.db import connection
from pydantic import TypeAdapter

from equipment.domain import bath, values
from equipment.domain.condition import Around, Condition, condition
from equipment.domain.fold import Folded
from equipment.domain.rules import Rules
from equipment.models import deriving, direct
from equipment.models.book import Entry
from equipment.models.scans import ScannedItem
from equipment.models.states import (
    BathState,
    CrewState,
    Discrepancy,
    ItemState,
    LotState,
    Membership,
    Visit,
)

ITEM: TypeAdapter[Folded[values.ItemState]] = TypeAdapter(Folded[values.ItemState])
CREW: TypeAdapter[Folded[values.CrewState]] = TypeAdapter(Folded[values.CrewState])
BATH: TypeAdapter[Folded[values.BathState]] = TypeAdapter(Folded[values.BathState])
LOT: TypeAdapter[Folded[values.LotState]] = TypeAdapter(Folded[values.LotState])
NEW_ITEM: Folded[values.ItemState] = Folded(values.ItemState())
NEW_CREW: Folded[values.CrewState] = Folded(values.CrewState())
NEW_BATH: Folded[values.BathState] = Folded(values.BathState())
NEW_LOT: Folded[values.LotState] = Folded(values.LotState())
NEW: dict[str, Folded[Any]] = {"item": NEW_ITEM, "crew": NEW_CREW, "bath": NEW_BATH, "lot": NEW_LOT}

FOLD_COLUMNS = (
    "id verb happened_at device_id device_seq store_id detail picker_id crew_id block_id bath by_id lot"
).split()
ITEM_COLUMNS = (
    "tag place store picker crew block packed_in since wet fit reasons due_at holds_at due void fold".split()
)
BATH_COLUMNS = "store recipe mixed_at good_until emptied_at fold".split()
LOT_COLUMNS = "goods store lot_number expires_on received_at counted_at left fold".split()
VISIT_COLUMNS = "id crew_id block_id at until cause".split()


def folded_item(row: ItemState | ScannedItem) -> Folded[values.ItemState]:
    if isinstance(row, ScannedItem):
        return ITEM.validate_json(row.fold) if row.fold != "{}" else NEW_ITEM
    return ITEM.validate_python(row.fold) if row.fold else NEW_ITEM


def folded_crew(row: CrewState) -> Folded[values.CrewState]:
    return CREW.validate_python(row.fold) if row.fold else NEW_CREW


def folded_bath(row: BathState) -> Folded[values.BathState]:
    return BATH.validate_python(row.fold) if row.fold else NEW_BATH


def folded_lot(row: LotState) -> Folded[values.LotState]:
    return LOT.validate_python(row.fold) if row.fold else NEW_LOT


def as_json(folded: Folded[Any], shape: TypeAdapter[Any]) -> dict[str, Any]:
    """The folded value as a row keeps it; its sets in order, so that the same fold makes the same row."""
    plain: dict[str, Any] = shape.dump_python(folded, mode="json")
    plain["awaited"].sort()
    plain["state"]["settled"].sort()
    return plain


def value_of(row: Entry) -> values.Entry:
    """The entry as a fold sees it."""
    return values.Entry(*(getattr(row, column) for column in FOLD_COLUMNS))


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What the derived columns of items are read from, beside their folds: the rules, the visits of their crews, and
    why a cleaning (by entry) does not count."""

    rules: Rules
    visits: dict[str, Sequence[values.Visit]] = field(default_factory=dict)
    void: dict[UUID, str] = field(default_factory=dict)
    _known: dict[int, tuple[values.ItemState, Condition]] = field(default_factory=dict)

    def condition(self, state: values.ItemState) -> Condition:
        """Worked out once for each state: ask when nothing of the surroundings changes any more."""
        known = self._known.get(id(state))
        if known is None:
            known = self._known[id(state)] = (state, condition(state, self.rules, self.around(state)))
        return known[1]

    def around(self, state: values.ItemState) -> Around:
        return deriving.around(state, self.visits, self.void)


def surroundings(
    folds: Iterable[Folded[values.ItemState]],
    rules: Rules,
    baths: Mapping[UUID, values.BathState] | None = None,
) -> Surroundings:
    """What stands around these items now; four queries at most, however many they are. `baths` are those that the
    caller has at hand."""
    states = [folded.state for folded in folds]
    named = {c.bath for state in states for c in state.cleanings if c.bath is not None}
    known = dict(baths or {})
    if lacking := named - set(known):
        rows = BathState.objects.filter(bath__in=lacking)
        known |= {row.bath: folded_bath(row).state for row in rows}
    visits: dict[str, Sequence[values.Visit]] = dict(deriving.visits(*deriving.needed_visits(states)))
    return Surroundings(rules, visits, deriving.voided(states, known))


def item_columns(item: UUID, folded: Folded[values.ItemState], beside: Surroundings) -> dict[str, Any]:
    """The row of an item, by column."""
    state = folded.state
    return {
        "item_id": item,
        "tag": state.tag,
        "store_id": state.store,
        "picker_id": state.picker,
        "crew_id": state.crew,
        "block_id": state.block,
        "packed_in_id": state.set,
        "since": state.since,
        "wet": state.wet,
        "fold": as_json(folded, ITEM),
        **deriving.columns(state, beside.condition(state), beside.void),
    }


def item_row(item: UUID, folded: Folded[values.ItemState], beside: Surroundings) -> ItemState:
    return ItemState(**item_columns(item, folded, beside))


def save_items(folds: Mapping[UUID, Folded[values.ItemState]], beside: Surroundings) -> None:
    rows = [item_columns(item, folded, beside) for item, folded in folds.items()]
    direct.insert(ItemState, rows, replacing="item")


def save_derived(folds: Mapping[UUID, Folded[values.ItemState]], beside: Surroundings) -> None:
    """Only what is derived, of items whose own fold is as it was: an arrival of a crew touches all its gear. Straight
    to the database, because the ORM's update of many rows costs as much as writing them whole."""
    if not folds:
        return
    fields = [ItemState._meta.get_field(name) for name in (*deriving.COLUMNS, "item")]
    told = [
        {**deriving.columns(folded.state, beside.condition(folded.state), beside.void), "item": item}
        for item, folded in folds.items()
    ]
    rows = [
        [field.get_db_prep_save(row[field.name], connection=connection) for field in fields] for row in told
    ]
    changes = ", ".join(f"{field.column} = %s" for field in fields[:-1])
    with connection.cursor() as cursor:
        cursor.executemany(f"UPDATE equipment_itemstate SET {changes} WHERE item_id = %s", rows)  # noqa: S608


def bath_row(own: UUID, folded: Folded[values.BathState]) -> BathState:
    return BathState(**_bath_columns(own, folded))


def _bath_columns(own: UUID, folded: Folded[values.BathState]) -> dict[str, Any]:
    state = folded.state
    return {
        "bath": own,
        "store_id": state.store,
        "recipe": state.recipe,
        "mixed_at": state.mixed_at,
        "good_until": bath.good_until(state),
        "emptied_at": state.emptied_at,
        "fold": as_json(folded, BATH),
    }


def save_baths(folds: Mapping[UUID, Folded[values.BathState]]) -> None:
    direct.insert(BathState, [_bath_columns(own, folded) for own, folded in folds.items()], replacing="bath")


def lot_row(own: UUID, folded: Folded[values.LotState]) -> LotState:
    return LotState(**_lot_columns(own, folded))


def _lot_columns(own: UUID, folded: Folded[values.LotState]) -> dict[str, Any]:
    state = folded.state
    return {
        "lot": own,
        "goods_id": state.goods or None,
        "store_id": state.store,
        "lot_number": state.lot_number,
        "expires_on": state.expires_on,
        "received_at": state.received_at,
        "counted_at": state.counted_at,
        "left": state.left,
        "fold": as_json(folded, LOT),
    }


def save_lots(folds: Mapping[UUID, Folded[values.LotState]]) -> None:
    direct.insert(LotState, [_lot_columns(own, folded) for own, folded in folds.items()], replacing="lot")


def save_crews(
    folds: Mapping[str, Folded[values.CrewState]], before: Mapping[str, values.CrewState] | None = None
) -> None:
    """`before` are the states that the rows were written by; of crews that are not in it the rows are looked at, for
    they may say anything."""
    rows = [{"crew_id": crew, "fold": as_json(folded, CREW)} for crew, folded in folds.items()]
    direct.insert(CrewState, rows, replacing="crew")
    known = before or {}
    _save_members(folds, known)
    _save_visits(folds, known)


def _save_members(
    folds: Mapping[str, Folded[values.CrewState]], before: Mapping[str, values.CrewState]
) -> None:
    """Those of the crews where somebody came or went."""
    wanted = {crew: dict(folded.state.members) for crew, folded in folds.items()}
    present = {crew: dict(before[crew].members) if crew in before else {} for crew in folds}
    if unknown := folds.keys() - before.keys():
        rows = Membership.objects.filter(crew__in=unknown).values_list("crew", "picker", "since")
        for crew, picker, since in rows:
            present[crew][picker] = since
    changed = [crew for crew in folds if wanted[crew] != present[crew]]
    if changed:
        Membership.objects.filter(crew__in=changed).delete()
        Membership.objects.bulk_create(
            Membership(crew_id=crew, picker_id=picker, since=since)
            for crew in changed
            for picker, since in wanted[crew].items()
        )


def _save_visits(
    folds: Mapping[str, Folded[values.CrewState]], before: Mapping[str, values.CrewState]
) -> None:
    """Only the rows that differ: a season has hundreds, a morning adds one."""
    wanted = {_visit(crew, v) for crew, folded in folds.items() for v in folded.state.visits}
    present = {_visit(crew, v) for crew in folds.keys() & before.keys() for v in before[crew].visits}
    if unknown := folds.keys() - before.keys():
        present |= set(Visit.objects.filter(crew__in=unknown).values_list(*VISIT_COLUMNS))
    if gone := {own for own, *_ in present} - {own for own, *_ in wanted}:
        Visit.objects.filter(pk__in=gone).delete()
    changed = [dict(zip(VISIT_COLUMNS, row, strict=True)) for row in wanted - present]
    direct.insert(Visit, changed, replacing="id")


def _visit(crew: str, visit: values.Visit) -> tuple[Any, ...]:
    return visit.entry, crew, visit.block, visit.at, visit.until, visit.cause


def save_discrepancies(field: str, folds: Mapping[Any, Folded[Any]]) -> None:
    """List anew what the folds of these subjects contradict; `field` is item, crew, bath or lot."""
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
