"""Every state against the fold of its subject's entries."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Any

from django.utils import timezone
from pydantic import ValidationError

from equipment.actions.refolding import refolded
from equipment.actions.verify_book.findings import Finding, Looked
from equipment.domain import values
from equipment.domain.fold import Folded
from equipment.models import (
    BathState,
    CrewState,
    Discrepancy,
    ItemState,
    Label,
    LotState,
    Membership,
    Visit,
    histories,
    projections,
    rules,
)
from equipment.models.histories import Family, Part

# A counter may write between our two looks, at the entries and at the states: what differs is looked at again.
LOOKS = 3


def look(part: Part) -> Looked:
    found = _differing(part)
    for _ in range(LOOKS - 1):
        # Only what differs both times is told.
        found = {key: again for key, again in _again(part.family, found).items() if again}
    return Looked(part.entries, [each for key in sorted(found, key=str) for each in found[key]])


def _again(family: Family, found: Mapping[Any, Any]) -> dict[Any, list[Finding]]:
    again: dict[Any, list[Finding]] = {}
    for key in found:
        again |= _differing(histories.part_of(family, key))
    return again


def _differing(part: Part) -> dict[Any, list[Finding]]:
    """By subject, what differs; a subject that is as it should be is left out."""
    anew = refolded(part)
    found: dict[Any, list[Finding]] = {
        key: [Finding("unfoldable", _named(part.family, key))] for key in anew.broken
    }
    compare = {"item": _items, "crew": _crews, "bath": _baths, "lot": _lots}[part.family]
    for key, code, columns in chain(compare(part, anew.folds), _discrepancies(part, anew.folds)):
        if key not in anew.broken:
            params = {**_named(part.family, key), "columns": ", ".join(columns)}
            found.setdefault(key, []).append(Finding(code, params))
    return found


Difference = tuple[Any, str, tuple[str, ...]]


def _items(part: Part, folds: Mapping[Any, Folded[Any]]) -> Iterator[Difference]:
    rows = ItemState.objects.in_bulk(part.keys)
    columns = [column for column in projections.ITEM_COLUMNS if column != "fold"]
    beside = projections.surroundings(folds.values(), rules.rules_at(timezone.now()))
    for key in part.keys:
        row, folded = rows.get(key), folds.get(key)
        if row is None or folded is None:
            yield from _one_sided(key, row, folded)
            continue
        wanted = projections.item_row(key, folded, beside)
        differ = [name for name in columns if _column(row, name) != _column(wanted, name)]
        if not _same_fold(projections.folded_item, row, folded):
            differ.append("fold")
        if differ:
            yield key, "state_differs", tuple(differ)


def _column(row: Any, name: str) -> Any:
    return getattr(row, row._meta.get_field(name).attname)


def _baths(part: Part, folds: Mapping[Any, Folded[Any]]) -> Iterator[Difference]:
    rows = BathState.objects.in_bulk(part.keys)
    yield from _alone(
        part, folds, rows, _Shape(projections.BATH_COLUMNS, projections.bath_row, projections.folded_bath)
    )


def _lots(part: Part, folds: Mapping[Any, Folded[Any]]) -> Iterator[Difference]:
    rows = LotState.objects.in_bulk(part.keys)
    yield from _alone(
        part, folds, rows, _Shape(projections.LOT_COLUMNS, projections.lot_row, projections.folded_lot)
    )


@dataclass(frozen=True, slots=True)
class _Shape:
    """How the row of a subject is made of its fold alone, and read back."""

    columns: Sequence[str]
    row: Callable[[Any, Folded[Any]], Any]
    folded: Callable[[Any], Folded[Any]]


def _alone(
    part: Part, folds: Mapping[Any, Folded[Any]], rows: Mapping[Any, Any], shape: _Shape
) -> Iterator[Difference]:
    columns = [column for column in shape.columns if column != "fold"]
    for key in part.keys:
        row, folded = rows.get(key), folds.get(key)
        if row is None or folded is None:
            yield from _one_sided(key, row, folded)
            continue
        wanted = shape.row(key, folded)
        differ = [name for name in columns if _column(row, name) != _column(wanted, name)]
        if not _same_fold(shape.folded, row, folded):
            differ.append("fold")
        if differ:
            yield key, "state_differs", tuple(differ)


def _crews(part: Part, folds: Mapping[Any, Folded[Any]]) -> Iterator[Difference]:
    rows = CrewState.objects.in_bulk(part.keys)
    members: dict[Any, dict[int, Any]] = {key: {} for key in part.keys}
    for crew, picker, since in Membership.objects.filter(crew__in=part.keys).values_list(
        "crew", "picker", "since"
    ):
        members[crew][picker] = since
    visits: dict[Any, list[Any]] = {}
    for visit in Visit.objects.filter(crew__in=part.keys):
        told = (visit.pk, visit.block_id, visit.at, visit.until, visit.cause)
        visits.setdefault(visit.crew_id, []).append(told)
    for key in part.keys:
        row, folded = rows.get(key), folds.get(key)
        wanted = dict(folded.state.members) if folded else {}
        if row is None or folded is None:
            yield from _one_sided(key, row, folded)
        elif not _same_fold(projections.folded_crew, row, folded):
            yield key, "state_differs", ("fold",)
        # By their ids: of two arrivals at one moment the rows do not say which came first.
        if folded and sorted(visits.get(key, [])) != sorted(_visit(each) for each in folded.state.visits):
            yield key, "visits_differ", ()
        if members[key] != wanted:
            changed = {who for who, _ in members[key].items() ^ wanted.items()}
            yield key, "members_differ", tuple(f"picker {who}" for who in sorted(changed))


def _visit(visit: values.Visit) -> Any:
    return visit.entry, visit.block, visit.at, visit.until, visit.cause


def _one_sided(key: Any, row: Any, folded: Any) -> Iterator[Difference]:
    if folded is not None:
        yield key, "state_gone", ()
    elif row is not None:
        yield key, "state_left_over", ()


def _same_fold(read: Any, row: Any, folded: Folded[Any]) -> bool:
    try:
        return bool(read(row) == folded)
    except ValidationError:
        return False


def _discrepancies(part: Part, folds: Mapping[Any, Folded[Any]]) -> Iterator[Difference]:
    listed: dict[Any, set[Any]] = {}
    rows = Discrepancy.objects.filter(**{f"{part.family}__in": part.keys})
    for key, *found in rows.values_list(part.family, "code", "entry_id", "settled"):
        listed.setdefault(key, set()).add(tuple(found))
    for key in part.keys:
        if listed.get(key, set()) != _wanted(folds.get(key)):
            yield key, "discrepancies_differ", ()


def _wanted(folded: Folded[Any] | None) -> set[Any]:
    found: Iterable[Any] = folded.state.discrepancies if folded else ()
    return {(each.code, each.entry, each.key in folded.state.settled) for each in found} if folded else set()


def _named(family: Family, key: Any) -> dict[str, str]:
    """The subject in the words of whoever looks for it: the label that an item wears, a crew's code."""
    if family != "item":
        return {"subject": str(key)}
    labels = Label.objects.filter(item=key).order_by("code").values_list("code", flat=True)
    return {"subject": f"{'/'.join(labels)} ({key})" if labels else str(key)}
