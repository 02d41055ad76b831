"""A label that the book does not know: it becomes a new piece, or the new label of an old one, or is not ours."""

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from django.utils.translation import gettext as _

from crews.models import User
from equipment.actions.register import Run, register
from equipment.actions.retag import retag
from equipment.actions.stocktake.begin import StockPen
from equipment.actions.stocktake.correct import checked
from equipment.actions.stocktake.settle import may, open_one
from equipment.actions.undo import undo
from equipment.actions.wording import NotDone, filled
from equipment.domain import codes
from equipment.domain.stocktake import NOT_OURS, OF_UNKNOWN, REGISTERED, RETAGGED, Choice
from equipment.ledger import writing
from equipment.models import ItemState, Kind, Label, Stocktake, UnknownTag, stocktaking


@dataclass(frozen=True, slots=True)
class Told:
    """`kind` is the code of what it is, `tag` the label that the piece wore before."""

    kind: str = ""
    tag: str = ""


def ways(by: User) -> tuple[Choice, ...]:
    return tuple(choice for choice in OF_UNKNOWN if may(choice, by))


def settle(stocktake: Stocktake, pen: StockPen, pk: UUID, name: str, told: Told) -> UnknownTag:
    """Raises NotDone where it cannot be done so; then nothing is written."""
    with writing():
        own = open_one(stocktake)
        row = own.unknown.filter(pk=pk).first()
        if row is None or row.choice or name not in {choice.name for choice in ways(pen.by)}:
            raise NotDone(
                _("It has been settled meanwhile, or has explained itself. Look at the list again.")
            )
        if name == REGISTERED.name:
            _register(pen, row, told.kind)
        elif name == RETAGGED.name:
            _retag(pen, row, told.tag)
        row.choice, row.settled_by, row.settled_at = name, pen.by, pen.at
        row.save()
    return row


def label_of(text: str) -> str:
    """The label itself, where it can be worn as it is; else "": the piece is given the next free one."""
    return next(iter(wearable([text])), "")


def wearable(texts: Iterable[str]) -> set[str]:
    """Those that are codes for a piece of gear, and that no piece ever wore."""
    found = {code.text for code in map(_code, texts) if code and code.prefix not in codes.NOT_ON_ITEMS}
    return found - set(Label.objects.filter(pk__in=found).values_list("pk", flat=True))


def _code(text: str) -> codes.Code | None:
    try:
        return codes.parse(text)
    except codes.BadCode:
        return None


def _register(pen: StockPen, row: UnknownTag, kind_code: str) -> None:
    kind = Kind.objects.filter(pk=kind_code).first()
    if kind is None:
        raise NotDone(_("Say what kind of gear it is."))
    own = label_of(row.text)
    if own and not own.startswith(kind.prefix):
        said = _("%(tag)s is not a label for %(kind)s: those begin with %(prefix)s.")
        raise NotDone(said % {"tag": own, "kind": _(kind.name_plural), "prefix": kind.prefix})
    (tag,) = register(pen, [Run(kind, pen.store, tag=own)])
    _see(pen, row, ItemState.objects.get(tag=tag))
    row.entry = row.item_id


def _retag(pen: StockPen, row: UnknownTag, text: str) -> None:
    try:
        code = codes.parse(text)
    except codes.BadCode as error:
        raise NotDone(filled(error.message, error.params)) from None
    state = ItemState.objects.select_related("item__kind").filter(item__labels__code=code.text).first()
    if state is None:
        raise NotDone(_("No item has the code %(tag)s.") % {"tag": code.text})
    outcome = retag(pen, state, label_of(row.text))
    checked(outcome, state.tag)
    row.entry = outcome.id
    _see(pen, row, state)


def _see(pen: StockPen, row: UnknownTag, state: ItemState) -> None:
    """Whoever scanned the label had the piece in their hand."""
    row.item_id = state.item_id
    draft = pen.draft("seen", item=state.item_id, note=_("Scanned as %(tag)s.") % {"tag": row.text})
    checked(pen.record([draft]).outcomes[0], state.tag)


def open_again(stocktake: Stocktake, pen: StockPen, pk: UUID) -> None:
    """Raises NotDone where it is open already, or where a piece was registered: that stays in the book."""
    with writing():
        own = open_one(stocktake)
        row = own.unknown.filter(pk=pk).exclude(choice="").first()
        if row is None:
            raise NotDone(_("It is open again already."))
        if row.choice == REGISTERED.name:
            raise NotDone(_("The piece stays in the book. If there is none, write it off on its own page."))
        if row.choice != NOT_OURS.name:
            _unlabel(own, pen, row)
        row.choice, row.item, row.entry, row.settled_by, row.settled_at = "", None, None, None, None
        row.save()


def _unlabel(own: Stocktake, pen: StockPen, row: UnknownTag) -> None:
    """Takes back the scan, then the label."""
    if row.item_id is None or row.entry is None:
        return
    line = stocktaking.count(own, [row.item_id]).lines.get(row.item_id)
    state = ItemState.objects.get(pk=row.item_id)
    if line and line.seen:
        checked(undo(pen, state, line.seen.entry), state.tag)
    checked(undo(pen, state, row.entry), state.tag)
