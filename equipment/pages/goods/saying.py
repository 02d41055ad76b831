"""Counted goods in words: what a lot is called, how much of it is left, until when it is good."""

from collections.abc import Iterable
from datetime import date
from typing import Any
from uuid import UUID

from django.urls import reverse
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from equipment.actions.amounts import amount
from equipment.models import Goods, LotState, shelf
from equipment.models.shelf import Held


def lot_number(row: LotState) -> str:
    """What the package bears, or when it came."""
    if row.lot_number:
        return _("lot %(number)s") % {"number": row.lot_number}
    came = date_format(timezone.localtime(row.received_at), _("j F Y")) if row.received_at else "…"
    return _("no lot number, received %(day)s") % {"day": came}


def lot_choice(row: LotState) -> str:
    """For choosing among lots of some goods: "lot P-7, good until 3 May 2027, 40 pieces left"."""
    words = {"lot": lot_number(row), "left": amount(row.left, unit(row))}
    if row.expires_on is None:
        return _("%(lot)s, %(left)s left") % words
    words["day"] = date_format(row.expires_on, _("j F Y"))
    return _("%(lot)s, good until %(day)s, %(left)s left") % words


def named_choice(row: LotState) -> str:
    """For choosing among lots of several goods."""
    return f"{row.goods}, {lot_choice(row)}"


def unit(row: LotState) -> str:
    return row.goods.unit if row.goods else ""


def held(each: Held) -> dict[str, Any]:
    """Goods of a store, for the list."""
    low = each.goods.low
    return {
        "goods": each.goods,
        "left": amount(each.fresh, each.goods.unit),
        "low": amount(low, each.goods.unit) if each.low and low is not None else "",
        "lots": [lot(row, each.goods, each.day) for row in each.lots],
        "past": bool(each.expired),
    }


def lot(row: LotState, goods: Goods, day: date) -> dict[str, Any]:
    return {
        "row": row,
        "number": lot_number(row),
        "left": amount(row.left, goods.unit),
        "expires": row.expires_on,
        "past": row.past_date(day),
        "soon": shelf.soon(row, day),
    }


class Lots:
    """The lots of some discrepancies: one query, or none."""

    def __init__(self, wanted: Iterable[UUID | None]) -> None:
        own = {each for each in wanted if each}
        self._rows = LotState.objects.select_related("goods").in_bulk(own) if own else {}

    def name(self, own: UUID | None) -> str:
        row = self._rows.get(own) if own else None
        if row is None:
            return ""
        return f"{row.goods}, {lot_number(row)}" if row.goods else _("a lot that was never received")

    def url(self, own: UUID | None) -> str:
        row = self._rows.get(own) if own else None
        return reverse("goods_lot", args=[own]) if row and row.goods else ""

    def left(self, own: UUID | None) -> str:
        row = self._rows.get(own) if own else None
        return amount(row.left, unit(row)) if row else ""
