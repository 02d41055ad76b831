"""An item goes from a store to a holder: a picker, or a crew for its spares and shared gear."""

from pydantic import Field

from equipment.domain.custody import against_handing_out
from equipment.domain.replacing import replace
from equipment.domain.stints import taken_up
from equipment.domain.values import Entry, ItemState
from equipment.domain.verbs._base import Detail, Verb, placed
from equipment.domain.words import gettext_noop


class HandedOut(Detail):
    """`from` (sent as a badge or crew code, kept as an opaque holder) marks a change of hands.

    `waived` names a kit line that this piece stands in for; `overridden` the gate codes someone took upon
    themselves. The server adds `verdict` (the gate's codes when it was recorded) and `rules` (their version).
    """

    from_: str | None = Field(default=None, alias="from")
    waived: str | None = None
    overridden: tuple[str, ...] = Field(default=(), max_length=20)
    verdict: tuple[str, ...] = ()
    rules: int | None = None


def step(state: ItemState, entry: Entry) -> ItemState:
    for code in against_handing_out(state, entry.store, entry.detail.get("from")):
        state = state.contradicted(code, entry.id)
    if "picker_left" in entry.detail.get("verdict", ()):
        state = state.contradicted("picker_left", entry.id)
    place = "crew" if entry.picker is None else "picker"
    held = placed(
        state, entry.happened_at, place=place, picker=entry.picker, crew=entry.crew, block=entry.block
    )
    if entry.picker is not None and entry.crew is not None:
        held = taken_up(held, entry.picker, entry.crew, entry.happened_at)
    return replace(held, set=None)


VERB = Verb(
    name="handed_out",
    family="item",
    detail=HandedOut,
    step=step,
    action="hand_out",
    say=gettext_noop("%(tag)s is handed out."),
    told=gettext_noop("Handed out to %(who)s."),
    told_with={"from": gettext_noop("Passed on from %(from)s to %(who)s.")},
    needs=("holder",),
    sealed={"verdict": (), "rules": None},
)
