"""Somebody looks at a mend and lets the item go: another than the mender (a ladder's structure), or the officer."""

from equipment.domain import faults
from equipment.domain.values import Entry, ItemState
from equipment.domain.verbs._base import Detail, Verb
from equipment.domain.words import gettext_noop


class Released(Detail):
    """The server adds the version of the `rules`."""

    fault: str
    rules: int | None = None


def step(state: ItemState, entry: Entry) -> ItemState:
    if state.place == "gone":
        return state.contradicted("written_off", entry.id)
    known = faults.named(state, entry.detail["fault"])
    if known is None:
        return state.contradicted("not_faulty", entry.id)
    if known.mended_at is None:
        return state.contradicted("not_mended", entry.id)
    if known.release == "second" and entry.by == known.mended_by:
        return state.contradicted("own_mend", entry.id)
    return faults.released(state, known.fault)


VERB = Verb(
    name="released",
    family="item",
    detail=Released,
    step=step,
    action="release",
    say=gettext_noop("%(tag)s is passed."),
    told=gettext_noop("Looked at and passed after mending: %(fault)s."),
    sealed={"rules": None},
)
