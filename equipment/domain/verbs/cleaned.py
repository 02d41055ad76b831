"""An item is sterilised, washed or dried. Its bath has a say in whether a dip counts, see `domain.bath`."""

from collections.abc import Mapping
from typing import Literal

from pydantic import Field

from equipment.domain.replacing import replace
from equipment.domain.values import Cleaning, Entry, Flag, ItemState
from equipment.domain.verbs._base import Detail, Verb
from equipment.domain.words import gettext_noop

# A void dip falls back on the one before it; four of a method are more than one bath can void. One that cleared a flag
# is kept as long as the flag: should its bath turn out void, the flag must stand again.
KEPT = 4
CLEANINGS: Mapping[str, str] = {
    "sterilise": gettext_noop("Sterilised"),
    "wash": gettext_noop("Washed"),
    "dry": gettext_noop("Dried"),
}


class Cleaned(Detail):
    """`seconds` is how long it acted. `each_scanned`: every piece was scanned, not told of as "the whole crew". The
    server adds what the recipe of the day says: `needs_seconds`, the strength `ppm`, `kills` (the diseases whose flag
    it clears), `wrong` (why it can be no cleaning of this item at all), and the version of the `rules`."""

    method: Literal["sterilise", "wash", "dry"]
    recipe: str | None = None
    seconds: int | None = Field(default=None, ge=0, le=604_800)
    each_scanned: bool = True
    needs_seconds: int | None = None
    ppm: int | None = None
    kills: tuple[str, ...] = ()
    wrong: Literal["", "no_recipe", "wrong_recipe"] = ""
    rules: int | None = None


def fails(state: ItemState, entry: Entry) -> str:
    """Why the item itself says that this cleaning does not count, "" where it does."""
    detail = entry.detail
    if detail.get("wrong"):
        return str(detail["wrong"])
    needs = detail.get("needs_seconds")
    if needs and (detail.get("seconds") or 0) < needs:
        return "too_short"
    if detail["method"] == "sterilise" and state.dirty_at is not None:
        return "dirt_first"
    return ""


def step(state: ItemState, entry: Entry) -> ItemState:
    if state.place == "gone":
        return state.contradicted("written_off", entry.id)
    if fails(state, entry):
        return state
    method, at = entry.detail["method"], entry.happened_at
    in_hand = state.picker if state.place == "picker" else None
    done = Cleaning(entry.id, at, method, entry.bath, in_hand)
    same = [cleaning for cleaning in state.cleanings if cleaning.method == method]
    clearing = {entry for flag in state.flags for entry in flag.cleared}
    old = same[: -KEPT + 1] if len(same) >= KEPT else []
    dropped = [cleaning for cleaning in old if cleaning.entry not in clearing]
    kept = tuple(cleaning for cleaning in state.cleanings if cleaning not in dropped)
    return replace(
        state,
        cleanings=(*kept, done),
        dirty_at=None if method == "wash" else state.dirty_at,
        wet_at=None if method == "dry" else state.wet_at,
        flags=tuple(_cleared(flag, entry) for flag in state.flags),
    )


def _cleared(flag: Flag, entry: Entry) -> Flag:
    if flag.disease not in entry.detail.get("kills", ()):
        return flag
    return replace(flag, cleared=(*flag.cleared[-KEPT + 1 :], entry.id))


VERB = Verb(
    name="cleaned",
    family="item",
    detail=Cleaned,
    step=step,
    action="clean",
    say=gettext_noop("%(tag)s is clean."),
    say_but=gettext_noop("%(tag)s is written down."),
    told=gettext_noop("%(cleaning)s."),
    told_with={"recipe": gettext_noop("%(cleaning)s: %(recipe)s.")},
    sealed={"needs_seconds": None, "ppm": None, "kills": (), "wrong": "", "rules": None},
)
