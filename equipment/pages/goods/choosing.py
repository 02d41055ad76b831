"""Fields for what a mend or a bath uses up of a lot: always a choice, never asked for."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext as _

from crews import policy
from crews.models import User
from equipment.actions.amounts import amount
from equipment.actions.goods import Using
from equipment.models import LotState, shelf
from equipment.pages.goods.forms import quantity
from equipment.pages.goods.saying import named_choice, unit

# A litre or a kilogram of product is so many of what a mixing measures, millilitres or grams.
IN_ONE = {"litre": 1000, "kilogram": 1000}


def lots_for(user: User, store: str | None, **which: Any) -> dict[str, LotState]:
    """The lots of a store that this person may use, by their numbers; none where that is not their work."""
    if not policy.may_act(user, "use_goods"):
        return {}
    return {str(lot.pk): lot for lot in shelf.to_take(store, timezone.localdate(), **which)}


def offer(field: Any, lots: Mapping[str, LotState]) -> None:
    """The lots as the choices of `field`, none of them to begin with."""
    field.choices = [
        ("", _("nothing from the shelf")),
        *((own, named_choice(lot)) for own, lot in lots.items()),
    ]


def in_a_mend(form: forms.Form, said: dict[str, Any], lots: Mapping[str, LotState]) -> Using | None:
    """What `lot` and `used` of the form say; what cannot be is added to its errors."""
    lot = lots.get(said.get("lot") or "")
    if lot is None:
        if said.get("used") is not None and "lot" not in form.errors:
            form.add_error("lot", _("Say of what that much was used, or leave it empty."))
        return None
    try:
        used = quantity(said.get("used"), lot.goods)
    except ValidationError as why:
        form.add_error("used", why)
        return None
    return _left(form, "used", Using(lot.pk, used, "mend"), lot)


def in_a_bath(form: forms.Form, lot: LotState, product: float) -> Using | None:
    """`product` in mL, or in g of a powder."""
    used = round(product / IN_ONE.get(unit(lot), 1), 6)
    return _left(form, "lot_of", Using(lot.pk, used, "bath"), lot)


def measured(lots: dict[str, LotState]) -> dict[str, LotState]:
    """Those that are counted in what a mixing can be reckoned in."""
    return {own: lot for own, lot in lots.items() if unit(lot) in IN_ONE}


def _left(form: forms.Form, field: str, using: Using, lot: LotState) -> Using | None:
    if using.quantity <= lot.left:
        return using
    words = {"left": amount(lot.left, unit(lot)), "used": amount(using.quantity, unit(lot))}
    said = _(
        "By the book only %(left)s is left of this lot, and this takes %(used)s. Count it first, or take another."
    )
    form.add_error(field, said % words)
    return None
