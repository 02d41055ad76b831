"""A stocktake begins and ends. What is expected is what lies in the store by the book at the moment it begins."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import IntegrityError
from django.utils.translation import gettext as _

from crews.models import Store, User
from equipment.actions.wording import NotDone, moment
from equipment.actions.writing import Pen, new_id
from equipment.domain.stocktake import LYING
from equipment.ledger import Draft, writing
from equipment.models import ChainHead, ExpectedPiece, ItemState, Stocktake, stocktaking


@dataclass
class StockPen(Pen):
    """A pen whose every line belongs to a stocktake."""

    stocktake: Any = None

    def draft(self, verb: str, **fields: Any) -> Draft:
        return super().draft(verb, **{**fields, "act": self.stocktake})


def pen(stocktake: Stocktake, by: User, at: datetime) -> StockPen:
    return StockPen(by, stocktake.store_id, at, stocktake=stocktake.pk)


def begin(store: Store, kinds: Sequence[str], by: User, at: datetime, own: UUID | None = None) -> Stocktake:
    """`kinds` are codes, none for all; `own` its id, a new one where None. Raises NotDone where one is open there."""
    try:
        with writing():
            return _begun(store, kinds, by, at, own or new_id())
    except IntegrityError:
        raise NotDone(_already_open(store)) from None


def _begun(store: Store, kinds: Sequence[str], by: User, at: datetime, pk: UUID) -> Stocktake:
    if Stocktake.objects.filter(store=store, ended_at=None).exists():
        raise NotDone(_already_open(store))
    own = Stocktake.objects.create(
        id=pk, store=store, kinds=sorted(kinds), begun_at=at, begun_by=by, begun_heads=heads()
    )
    lying = ItemState.objects.filter(store=store, place__in=LYING)
    lying = lying.filter(item__kind__in=kinds) if kinds else lying
    rows = lying.order_by("tag").values_list("item", "place")
    ExpectedPiece.objects.bulk_create(
        [ExpectedPiece(stocktake=own, item_id=item, place=place) for item, place in rows], batch_size=500
    )
    return own


def _already_open(store: Store) -> str:
    own = Stocktake.objects.filter(store=store, ended_at=None).select_related("begun_by").first()
    who = (own.begun_by.get_full_name() or own.begun_by.get_username()) if own else "…"
    words = {"store": store.name, "who": who, "when": moment(own.begun_at) if own else "…"}
    return _("A stocktake is open in %(store)s, begun by %(who)s, %(when)s. Go on with that one.") % words


def end(stocktake: Stocktake, by: User, at: datetime, why_open: str = "") -> Stocktake:
    """Keep what was found. What is still open stays so for ever, and is printed so. Raises NotDone where it has ended
    already, and where something is open and no word says why."""
    with writing():
        own = locked(stocktake)
        if own.ended_at is not None:
            raise NotDone(ended(own))
        found = stocktaking.count(own)
        if found.sums["open"] and not why_open.strip():
            raise NotDone(_("Something is still open. Settle it, or write down why it stays so."))
        own.result, own.ended_heads = stocktaking.kept(found), heads()
        own.ended_at, own.ended_by = at, by
        own.why_open = why_open.strip() if found.sums["open"] else ""
        own.save()
    return own


def locked(stocktake: Stocktake) -> Stocktake:
    """The stocktake as it is now; nobody else writes of it until this transaction ends."""
    return Stocktake.objects.select_for_update().get(pk=stocktake.pk)


def ended(stocktake: Stocktake) -> str:
    return _("This stocktake ended %(when)s.") % {"when": moment(stocktake.ended_at)}


def heads() -> dict[str, list[Any]]:
    """Of all chains: store -> [position, digest]."""
    rows = ChainHead.objects.order_by("store").values_list("store", "position", "digest")
    return {store: [position, digest] for store, position, digest in rows}
