"""What will be there in the morning, and what each piece still wants before it may go out.

A piece that is out and comes back tonight is counted as if it lay in its store. What stays with its holder serves that
holder only. A piece whose cleaning another picker would end is fit for the one who had it, and for nobody else.
"""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from uuid import UUID

from equipment.domain.condition import CONTENTS
from equipment.domain.jobs import Gear
from equipment.domain.rules import Rules
from equipment.models.states import ItemState

PLACES = ("store", "bench", "picker", "crew", "orchard")
OUT = ("picker", "crew", "orchard")
COLUMNS = "item tag place store picker crew packed_in item__kind item__size item__hand reasons due".split()
TROUBLE = frozenset({"stop_use", "disease_flag"})
# In the order of doing: dirt comes off before a dip, and what is mended is looked at before it is cleaned.
STEPS = ("mend", "pass", "inspect", "restock", "wash", "sterilise", "dry")


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do. `name` is the fault, the checklist, or the diseases that a cleaning must end, in order."""

    what: str
    name: str = ""


@dataclass(frozen=True, slots=True)
class Piece:
    """`steps` make it fit, in the order of doing; none where it is. `own`: fit for this picker only, until `frees` are
    done. `stays`: it is with its holder in the morning as well."""

    item: UUID
    tag: str
    gear: Gear
    store: str
    place: str
    picker: int | None
    crew: str | None
    packed_in: str | None
    steps: tuple[Step, ...]
    own: int | None = None
    frees: tuple[Step, ...] = ()
    stays: bool = False

    @property
    def out(self) -> bool:
        return self.place in OUT


@dataclass(frozen=True, slots=True)
class Morning:
    """As of when pieces must be fit (UTC), by which rules. `goes_on`: the day has begun, what is out stays out."""

    at: datetime
    rules: Rules
    goes_on: bool = False


def pieces(
    morning: Morning, kinds: Collection[str], tonight: Collection[str], store: str = ""
) -> list[Piece]:
    """The pieces of these kinds (of `store`, "" for all) that are there in the morning, by tag; `tonight` are the kinds
    that come back. Three queries at most."""
    rows = ItemState.objects.filter(place__in=PLACES, item__kind__in=list(kinds))
    rows = rows.filter(store=store) if store else rows
    found = [_piece(row, morning, tonight) for row in rows.order_by("tag").values_list(*COLUMNS)]
    troubled = {piece.item for piece, reasons in found if TROUBLE & set(reasons)}
    told = _troubles(troubled, morning.rules)
    whole = [_told(piece, told.get(piece.item)) for piece, _ in found]
    owners = _owners([piece for piece in whole if not piece.steps], morning.rules)
    return [_owned(piece, owners.get(piece.item, {})) for piece in whole]


def _told(piece: Piece, troubles: list[Step] | None) -> Piece:
    return replace(piece, steps=_sorted([*piece.steps, *troubles])) if troubles else piece


def _owned(piece: Piece, owners: Mapping[int, tuple[Step, ...]]) -> Piece:
    """Fit for one picker only; where two cleanings are of two pickers, for nobody before both are done anew."""
    frees = tuple(step for steps in owners.values() for step in steps)
    if len(owners) > 1:
        return replace(piece, steps=frees)
    return replace(piece, own=next(iter(owners)), frees=frees) if owners else piece


def _piece(row: tuple[Any, ...], morning: Morning, tonight: Collection[str]) -> tuple[Piece, list[str]]:
    item, tag, place, store, picker, crew, packed_in, kind, size, hand, reasons, due = row
    stays = place in OUT and (morning.goes_on or place == "orchard" or kind not in tonight)
    steps = _sorted(list(_due(due, morning.at)))
    return Piece(
        item, tag, Gear(kind, size, hand), store or "", place, picker, crew, packed_in, steps, stays=stays
    ), reasons


def _due(dues: list[Mapping[str, Any]], at: datetime) -> Iterator[Step]:
    """What will keep it here by then."""
    for due in dues:
        if due["holds"] and due["at"] and datetime.fromisoformat(due["at"]) <= at:
            match due["what"], due["name"]:
                case "clean", method:
                    yield Step(method)
                case "inspect", name if name == CONTENTS:
                    yield Step("restock")
                case what, name:
                    yield Step(what, name)


def _sorted(steps: list[Step]) -> tuple[Step, ...]:
    """Each kind of cleaning once: one that ends a disease does for the ordinary one."""
    named = {(step.what, step.name): step for step in steps}
    diseased = {step.what for step in steps if step.what == "sterilise" and step.name}
    kept = [step for step in named.values() if step.name or step.what not in diseased]
    return tuple(sorted(kept, key=lambda step: (STEPS.index(step.what), step.name)))


def _troubles(items: Collection[UUID], rules: Rules) -> dict[UUID, list[Step]]:
    """The faults that stop these pieces, and the diseases that they are flagged for. One query, or none."""
    if not items:
        return {}
    rows = ItemState.objects.filter(pk__in=list(items))
    columns = ("item", "void", "fold__state__faults", "fold__state__flags")
    return {
        item: [*_faults(faults or (), rules), *_flags(flags or (), void)]
        for item, void, faults, flags in rows.values_list(*columns)
    }


def _faults(faults: Collection[Mapping[str, Any]], rules: Rules) -> Iterator[Step]:
    for fault in faults:
        rule = rules.fault(fault["fault"])
        if fault["mended_at"]:
            yield Step("pass", fault["fault"])
        elif rule.severity == "stop_use":
            yield Step("mend", fault["fault"])
            if rule.released_by != "mender":
                yield Step("pass", fault["fault"])


def _flags(flags: Collection[Mapping[str, Any]], void: Collection[str]) -> Iterator[Step]:
    standing = sorted(flag["disease"] for flag in flags if set(flag["cleared"]) <= set(void))
    if standing:
        yield Step("sterilise", " ".join(standing))


def _owners(fit: Collection[Piece], rules: Rules) -> dict[UUID, dict[int, tuple[Step, ...]]]:
    """Of pieces that are fit: the picker whose cleaning it is, where another one's hand-out would end it, and what
    frees the piece. One query, or none."""
    ending = {
        kind: [rule.method for rule in of_kind if rule.other_picker and rule.holds]
        for kind, of_kind in rules.cleaning.items()
    }
    asked = [piece.item for piece in fit if ending.get(piece.gear.kind)]
    if not asked:
        return {}
    columns = ("item", "item__kind", "void", "fold__state__cleanings", "fold__state__stints__0__picker")
    found: dict[UUID, dict[int, tuple[Step, ...]]] = {}
    for item, kind, void, cleanings, first in ItemState.objects.filter(pk__in=asked).values_list(*columns):
        counting = [each for each in cleanings or () if each["entry"] not in void]
        for method in ending[kind]:
            own = _owner(method, counting, first)
            if own is not None:
                of_item = found.setdefault(item, {})
                of_item[own] = (*of_item.get(own, ()), Step(method))
    return found


def _owner(method: str, cleanings: Collection[Mapping[str, Any]], first: int | None) -> int | None:
    """Whose the last cleaning that counts is; of a piece never cleaned, and fit all the same, who had it first."""
    done = [each for each in cleanings if each["method"] == method]
    return done[-1]["picker"] if done else first
