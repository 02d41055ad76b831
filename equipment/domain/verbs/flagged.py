"""An item may carry a disease, by a case of the disease trace. Only a cleaning that kills it ends the flag."""

from equipment.domain import faults
from equipment.domain.replacing import replace
from equipment.domain.values import Entry, Flag, ItemState
from equipment.domain.verbs._base import Detail, Verb
from equipment.domain.words import gettext_noop


class Flagged(Detail):
    disease: str
    case: str = ""


def step(state: ItemState, entry: Entry) -> ItemState:
    if state.place == "gone":
        return state.contradicted("written_off", entry.id)
    flag = Flag(entry.detail["disease"], entry.id, entry.happened_at, entry.detail.get("case", ""))
    rest = tuple(known for known in state.flags if known.disease != flag.disease)
    return replace(faults.ended(state, "flag", entry.happened_at), flags=(*rest, flag))


VERB = Verb(
    name="flagged",
    family="item",
    detail=Flagged,
    step=step,
    action="flag",
    say=gettext_noop("%(tag)s is flagged."),
    told=gettext_noop("Flagged: it may carry %(disease)s."),
)
