"""A fault is mended. Where the rules ask for it, the item still waits for somebody to let it go, see `released`."""

from typing import Annotated, Literal

from pydantic import Field

from equipment.domain import faults
from equipment.domain.values import Entry, ItemState
from equipment.domain.verbs._base import Detail, Verb
from equipment.domain.words import gettext_noop


class Mended(Detail):
    """`minutes` is the time it took. The server adds `release` where the rules ask for another pair of eyes, and the
    version of the `rules`."""

    fault: str
    method: Annotated[str, Field(min_length=1)]
    minutes: int = Field(ge=0, le=10_000)
    parts: str = ""
    where: Literal["shed", "orchard"] = "shed"
    release: Literal["", "second", "officer"] = ""
    rules: int | None = None


def step(state: ItemState, entry: Entry) -> ItemState:
    if state.place == "gone":
        return state.contradicted("written_off", entry.id)
    fault = entry.detail["fault"]
    if faults.named(state, fault) is None:
        return state.contradicted("not_faulty", entry.id)
    return faults.mended(state, fault, entry.by, entry.happened_at, entry.detail.get("release", ""))


VERB = Verb(
    name="mended",
    family="item",
    detail=Mended,
    step=step,
    action="mend",
    say=gettext_noop("%(tag)s is mended."),
    told=gettext_noop("Mended: %(fault)s. %(method)s, %(minutes)s minutes."),
    sealed={"release": "", "rules": None},
)
