"""Counted goods: lots come in, are given, used, counted and thrown away; a line of a lot is struck."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Literal
from uuid import UUID

from django.utils.translation import gettext as _

from equipment.actions.wording import NotDone
from equipment.actions.writing import Pen, new_id
from equipment.ledger import Draft, Outcome, writing
from equipment.models import Entry, LotState


@dataclass(frozen=True, slots=True)
class Coming:
    """A lot that comes in: `quantity` in the unit of the goods, and what stands on the package."""

    goods: str
    quantity: float
    lot_number: str = ""
    expires_on: date | None = None
    supplier: str = ""

    @property
    def detail(self) -> dict[str, Any]:
        """What is known of it."""
        told: dict[str, Any] = {"goods": self.goods, "quantity": self.quantity}
        texts = {"lot_number": self.lot_number, "supplier": self.supplier}
        day = {"expires_on": self.expires_on.isoformat()} if self.expires_on else {}
        return told | day | {name: text for name, text in texts.items() if text}


@dataclass(frozen=True, slots=True)
class Using:
    """So much of a lot is used up in something else that is written down in the same act."""

    lot: UUID
    quantity: float
    purpose: Literal["mend", "bath", "other"]

    def draft(self, pen: Pen, act: UUID) -> Draft:
        detail = {"quantity": self.quantity, "purpose": self.purpose}
        return pen.draft("used", lot=self.lot, act=act, detail=detail)


def receive(pen: Pen, coming: Coming, lot: UUID | None = None, note: str = "") -> tuple[UUID, Outcome]:
    """A new lot, or `lot` where its number was made before; its number."""
    own = lot or new_id()
    return own, pen.record([pen.draft("received", lot=own, detail=coming.detail, note=note)]).outcomes[0]


def take(
    pen: Pen,
    verb: Literal["given", "used", "discarded"],
    lot: LotState,
    quantity: float,
    *,
    purpose: str = "",
    **fields: Any,
) -> Outcome:
    """Take from a lot; `purpose` is of what is used. `fields` are those of the draft: `crew` of who is given it, `id`,
    `note`."""
    detail = {"quantity": quantity, **({"purpose": purpose} if purpose else {})}
    draft = pen.draft(verb, lot=lot.pk, detail=detail, **fields)
    return pen.record([draft]).outcomes[0]


def count(pen: Pen, found: Mapping[UUID, tuple[float, float]], act: UUID | None = None) -> int:
    """Write down what was counted of each lot: lot -> (what the book said, what is there). Only what differs becomes an
    entry. Raises NotDone where the book says something else meanwhile. Returns how many differed."""
    differing = {lot: pair for lot, pair in found.items() if pair[0] != pair[1]}
    with writing():
        rows = LotState.objects.select_for_update().filter(pk__in=differing).order_by("pk")
        now = {row.pk: row.left for row in rows}
        if any(now.get(lot) != said for lot, (said, _there) in differing.items()):
            raise NotDone(_("Something was taken or came in meanwhile. Look at the differences again."))
        drafts = [
            pen.draft("counted", lot=own, act=act, detail={"left": left})
            for own, (_s, left) in differing.items()
        ]
        if drafts:
            pen.record(drafts)
    return len(drafts)


def with_lot(pen: Pen, draft: Draft, using: Using | None) -> Outcome:
    """Record `draft`, and in the same act what it used up. The outcome of the draft; where the lot refused, of that."""
    if using is None:
        return pen.record([draft]).outcomes[0]
    act = draft.act or new_id()
    outcomes = pen.record([replace(draft, act=act), using.draft(pen, act)]).outcomes
    return next((o for o in outcomes if not o.recorded and o.codes != ("act_refused",)), outcomes[0])


def standing(lot: UUID) -> Sequence[Entry]:
    """The lines of a lot that were not struck and can be, in order."""
    lines = Entry.objects.filter(lot=lot, item=None, bath=None)
    struck = struck_lines(lot)
    rows = lines.exclude(verb__in=("reversed", "settled")).order_by(
        "happened_at", "device", "device_seq", "id"
    )
    return [line for line in rows if line.pk not in struck]


def struck_lines(lot: UUID) -> set[UUID]:
    undone = Entry.objects.filter(lot=lot, item=None, bath=None, verb="reversed")
    return {UUID(detail["entry"]) for detail in undone.values_list("detail", flat=True)}


def strike(pen: Pen, lot: LotState, entry: UUID, note: str = "") -> Outcome:
    """Take a line of the lot back. Raises NotDone where it is struck already, or none of its lines."""
    if entry not in {line.pk for line in standing(lot.pk)}:
        raise NotDone(_("That line is struck already. Look at the list, then try again."))
    draft = pen.draft("reversed", lot=lot.pk, detail={"entry": str(entry)}, note=note)
    return pen.record([draft]).outcomes[0]
