"""An item enters the book: one tagged piece of a kind, lying in a store."""

from datetime import date
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import Field

from equipment.domain.replacing import replace
from equipment.domain.values import Entry, ItemState
from equipment.domain.verbs._base import Detail, Verb, placed
from equipment.domain.words import gettext_noop

Words20 = Annotated[str, Field(max_length=20)]
Words60 = Annotated[str, Field(max_length=60)]
Words80 = Annotated[str, Field(max_length=80)]


class Registered(Detail):
    """`price` in the farm's money; of a ladder its material, legs, length and the load on its rating plate; `tag` is
    the item's first code, added by the server.

    No text is longer than the gear list takes: a database may refuse it only after the rest was accepted.
    """

    kind: str
    store: str
    make: Words60 = ""
    size: Words20 = ""
    hand: Literal["", "left", "right"] = ""
    owner: Words80 = ""
    price: Annotated[Decimal, Field(ge=0, max_digits=10, decimal_places=2)] | None = None
    supplier: Words80 = ""
    delivery: Words60 = ""
    bought_on: date | None = None
    material: Literal["", "timber", "aluminium", "fibreglass"] = ""
    legs: Annotated[int, Field(ge=2, le=4)] | None = None
    length_m: Annotated[Decimal, Field(gt=0, le=10, max_digits=4, decimal_places=2)] | None = None
    rating_kg: Annotated[int, Field(gt=0, le=1000)] | None = None
    tag: str = ""


def step(state: ItemState, entry: Entry) -> ItemState:
    """By the clock something may have happened before: a counter and a phone differ by a minute. Then the item is
    where that put it, and wears what that put on it."""
    if state.registered:
        return state.contradicted("registered_twice", entry.id)
    known = replace(
        state,
        registered=True,
        registered_at=entry.happened_at,
        tag=state.tag or entry.detail.get("tag", ""),
        kind=entry.detail["kind"],
    )
    if state.since is not None:
        return known if state.store else replace(known, store=entry.detail["store"])
    return placed(known, entry.happened_at, place="store", store=entry.detail["store"])


VERB = Verb(
    name="registered",
    family="item",
    detail=Registered,
    step=step,
    action="register",
    say=gettext_noop("%(tag)s is in the book."),
    told=gettext_noop("Registered in %(store)s."),
)
