"""A lot of counted goods comes in: plasters, thread, springs, test strips, disinfectant."""

from datetime import date
from typing import Annotated

from pydantic import Field

from equipment.domain.replacing import replace
from equipment.domain.values import Entry, LotState
from equipment.domain.verbs._base import Detail, Quantity, Verb, exact
from equipment.domain.words import gettext_noop


class Received(Detail):
    """`quantity` in the unit of the goods; what stands on the package: its lot and the day it expires."""

    goods: Annotated[str, Field(min_length=1)]
    quantity: Quantity
    lot_number: str = ""
    expires_on: date | None = None
    supplier: str = ""


def step(state: LotState, entry: Entry) -> LotState:
    if state.goods:
        return state.contradicted("received_twice", entry.id)
    expires = entry.detail.get("expires_on")
    return replace(
        state,
        goods=entry.detail["goods"],
        store=entry.store,
        received_at=entry.happened_at,
        lot_number=entry.detail.get("lot_number", ""),
        expires_on=date.fromisoformat(expires) if isinstance(expires, str) else expires,
        left=exact(state.left + float(entry.detail["quantity"])),
    )


VERB = Verb(
    name="received",
    family="lot",
    detail=Received,
    step=step,
    action="receive_goods",
    say=gettext_noop("Received."),
    told=gettext_noop("Received: %(goods)s, %(quantity)s."),
)
