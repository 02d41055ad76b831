"""A person settles a discrepancy: one act of a `settled` line and of the line that puts the book right."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from crews import policy
from crews.models import User
from equipment.actions.wording import NotDone, refusal
from equipment.actions.writing import Pen, new_id
from equipment.domain import settling, values
from equipment.domain.settling import PASSED, Choice
from equipment.ledger import Draft
from equipment.models import (
    BathState,
    CrewState,
    Discrepancy,
    Entry,
    ItemState,
    LotState,
    projections,
    rules,
)

# What puts the book right must itself be right; a line that is struck, or left, may show the next contradiction.
AS_NOTES = frozenset({"", "reversed"})


@dataclass(frozen=True, slots=True)
class Contested:
    """A discrepancy with its line and the state of its subject now."""

    found: Discrepancy
    entry: Entry
    state: values.State

    @property
    def subject(self) -> Mapping[str, Any]:
        if self.found.item_id:
            return {"item": self.found.item_id, "crew": getattr(self.state, "crew", None)}
        return {name: key for name in ("crew", "bath", "lot") if (key := getattr(self.found, f"{name}_id"))}


def contested(rows: Sequence[Discrepancy], entries: Mapping[UUID, Entry]) -> list[Contested]:
    """Those of `rows` whose line is among `entries`, with their states: four queries at most."""
    items = ItemState.objects.in_bulk({row.item_id for row in rows if row.item_id})
    crews = CrewState.objects.in_bulk({row.crew_id for row in rows if row.crew_id})
    baths = BathState.objects.in_bulk({row.bath_id for row in rows if row.bath_id})
    lots = LotState.objects.in_bulk({row.lot_id for row in rows if row.lot_id})
    folds: dict[Any, values.State] = {key: projections.folded_item(row).state for key, row in items.items()}
    folds |= {key: projections.folded_crew(row).state for key, row in crews.items()}
    folds |= {key: projections.folded_bath(row).state for key, row in baths.items()}
    folds |= {key: projections.folded_lot(row).state for key, row in lots.items()}
    return [
        Contested(row, entries[row.entry_id], folds[_key(row)]) for row in rows if row.entry_id in entries
    ]


def _key(row: Discrepancy) -> Any:
    """Of the row of its subject."""
    return row.item_id or row.crew_id or row.bath_id or row.lot_id


def ways(one: Contested, by: User) -> tuple[Choice, ...]:
    """The ways to settle it that are open to `by`: whoever settles may also write what goes with it, but for the word
    that a mend is good."""
    found = settling.ways(one.found.code, one.state)
    return tuple(choice for choice in found if choice is not PASSED or _may_pass(one, by))


def _may_pass(one: Contested, by: User) -> bool:
    fault = rules.rules_at(one.entry.recorded_at).fault(one.entry.detail.get("fault", ""))
    if fault.released_by == "officer" and not (by.is_superuser or policy.OFFICER in by.roles):
        return False
    return policy.may_act(by, "release")


def settle(pen: Pen, one: Contested, name: str, note: str = "") -> None:
    """Write it down. Raises NotDone where it is settled already, or where it cannot be settled so."""
    choice = next((each for each in ways(one, pen.by) if each.name == name), None)
    if choice is None or one.found.settled:
        raise NotDone(_("It has been settled meanwhile, or has explained itself. Look at the list again."))
    act = new_id()
    detail = {"key": one.found.key, "choice": choice.name}
    drafts = [pen.draft("settled", act=act, detail=detail, note=note, **one.subject)]
    if choice.verb:
        drafts.insert(0, _correction(pen, one, choice, act))
    strictness = "note" if choice.verb in AS_NOTES else "hold"
    recorded = pen.record(drafts, strictness)
    for outcome in recorded.outcomes:
        if not outcome.recorded and outcome.codes != ("act_refused",):
            tag = getattr(one.state, "tag", "")
            raise NotDone(" ".join(refusal(code, {"tag": tag}) for code in outcome.codes))


def _correction(pen: Pen, one: Contested, choice: Choice, act: UUID) -> Draft:
    detail: dict[str, Any] = {}
    if choice.verb == "reversed":
        detail["entry"] = str(_last(one, choice.undoes) if choice.undoes else one.entry.pk)
    if choice.verb == "counted":
        detail["left"] = getattr(one.state, "left", 0.0)
    if choice.verb == "released":
        detail["fault"] = one.entry.detail["fault"]
    return pen.draft(choice.verb, act=act, detail=detail, **one.subject)


def _last(one: Contested, verb: str) -> UUID:
    """The last line of that verb of the item that was not taken back."""
    lines = Entry.objects.filter(item=one.found.item_id)
    struck = {UUID(each["entry"]) for each in lines.filter(verb="reversed").values_list("detail", flat=True)}
    rows = lines.filter(verb=verb).exclude(pk__in=struck).order_by("-happened_at", "-id")
    last = rows.values_list("pk", flat=True).first()
    if last is None:
        raise NotDone(_("There is no such line any more. Look at the list again."))
    return last


def open_again(pen: Pen, settled: Entry) -> None:
    """Take back a `settled` line and what was written with it. Raises NotDone where a line was struck with it: that
    stays struck."""
    act = list(Entry.objects.filter(act=settled.act)) if settled.act else [settled]
    struck = _taken_back(settled)
    if settled.pk in struck:
        raise NotDone(_("It is open again already."))
    if any(entry.verb == "reversed" for entry in act):
        raise NotDone(_("A line was struck with it, and stays struck. Write down what is so by hand."))
    again = new_id()
    drafts = [
        pen.draft(
            "reversed",
            act=again,
            item=entry.item_id,
            crew=entry.crew_id,
            bath=entry.bath,
            lot=entry.lot,
            detail={"entry": str(entry.pk)},
        )
        for entry in act
        if entry.pk not in struck
    ]
    pen.record(drafts, "note")


def _taken_back(entry: Entry) -> set[UUID]:
    same = (
        {"item": entry.item_id}
        if entry.item_id
        else {"item": None, "crew": entry.crew_id, "bath": entry.bath, "lot": entry.lot}
    )
    rows = Entry.objects.filter(verb="reversed", **same).values_list("detail", flat=True)
    return {UUID(detail["entry"]) for detail in rows}
