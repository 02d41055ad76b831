"""Lots of counted goods for tests."""

from datetime import timedelta
from typing import Any
from uuid import UUID

from django.utils import timezone

from equipment.actions.goods import Coming, receive
from equipment.actions.writing import Pen
from equipment.models import LotState
from tests.cast import Farm


def came_in(
    farm: Farm, goods: str = "plasters", quantity: float = 40, *, days: int | None = None, **more: Any
) -> UUID:
    """A lot in store A, good for so many days from today (below 0: past its date); None: it has no date."""
    expires = timezone.localdate() + timedelta(days=days) if days is not None else None
    pen = Pen(farm.users["rosa"], more.pop("store", "A"), timezone.now())
    own, outcome = receive(pen, Coming(goods, quantity, expires_on=expires, **more))
    assert outcome.recorded
    return own


def left(lot: UUID) -> float:
    return LotState.objects.get(pk=lot).left
