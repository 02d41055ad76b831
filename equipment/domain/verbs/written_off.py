"""An item leaves the book's care for good, with the circumstance; it proves no debt of anyone."""

from collections.abc import Mapping
from typing import Literal

from equipment.domain.replacing import replace
from equipment.domain.stints import let_go
from equipment.domain.values import Entry, ItemState
from equipment.domain.verbs._base import Detail, Verb
from equipment.domain.words import gettext_noop

CIRCUMSTANCES: Mapping[str, str] = {
    "worn_out": gettext_noop("worn out"),
    "broken": gettext_noop("broken"),
    "lost": gettext_noop("lost"),
    "stolen": gettext_noop("stolen"),
    "sold": gettext_noop("sold"),
    "disputed": gettext_noop("disputed"),
    "other": gettext_noop("for another reason"),
}


class WrittenOff(Detail):
    """`case` is the number under which a theft was reported."""

    case: str = ""
    circumstance: Literal["worn_out", "broken", "lost", "stolen", "sold", "disputed", "other"]


def step(state: ItemState, entry: Entry) -> ItemState:
    if state.place == "gone":
        return state.contradicted("written_off", entry.id)
    return replace(let_go(state, entry.happened_at), place="gone", since=entry.happened_at, set=None)


VERB = Verb(
    name="written_off",
    family="item",
    detail=WrittenOff,
    step=step,
    action="write_off",
    say=gettext_noop("%(tag)s is written off."),
    told=gettext_noop("Written off: %(circumstance)s."),
    told_with={"case": gettext_noop("Written off: %(circumstance)s, case %(case)s.")},
)
