"""A checklist is answered for an item. A failed point opens its fault."""

from collections.abc import Mapping
from datetime import date
from typing import Annotated

from pydantic import Field

from equipment.domain import faults
from equipment.domain.replacing import replace
from equipment.domain.values import Entry, ItemState
from equipment.domain.verbs._base import Detail, Verb
from equipment.domain.words import gettext_noop

Words = Annotated[str, Field(min_length=1, max_length=80)]
Answer = bool | int | float | Annotated[str, Field(max_length=200)]


class Inspected(Detail):
    """`answers` by point: "yes" or "no", a number in the point's unit, or one of its choices; `expiries` the dates on
    what belongs in it (a first-aid kit). The server adds `failed` (point -> the fault that it opens, "" for none) and
    the version of the `rules`."""

    checklist: str
    answers: Mapping[str, Answer]
    expiries: Mapping[Words, date] = Field(default={}, max_length=50)
    failed: Mapping[str, str] = {}
    rules: int | None = None


def step(state: ItemState, entry: Entry) -> ItemState:
    if state.place == "gone":
        return state.contradicted("written_off", entry.id)
    at = entry.happened_at
    state = replace(state, inspected={**state.inspected, entry.detail["checklist"]: at})
    if dates := entry.detail.get("expiries"):
        state = replace(state, expires_on=min(date.fromisoformat(str(each)) for each in dates.values()))
    # In an order of their own: a database keeps the words of a detail in whatever order it likes.
    for fault in sorted({fault for fault in entry.detail.get("failed", {}).values() if fault}):
        state = faults.found(state, fault, entry.id, at)
    return state


VERB = Verb(
    name="inspected",
    family="item",
    detail=Inspected,
    step=step,
    action="inspect",
    say=gettext_noop("%(tag)s is inspected."),
    told=gettext_noop("Inspected: %(checklist)s, nothing wrong."),
    told_with={"failed": gettext_noop("Inspected: %(checklist)s. Failed: %(failed)s.")},
    sealed={"failed": {}, "rules": None},
)
