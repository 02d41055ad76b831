"""An item was scanned at a stocktake or an audit, where the entry was recorded. It changes nothing: what it shows is
that the item was there, and when. The `act` of the entry is the stocktake or the audit."""

from equipment.domain.values import Entry, ItemState
from equipment.domain.verbs._base import Detail, Verb
from equipment.domain.words import gettext_noop


class Seen(Detail):
    """`good`: somebody looked it over and found nothing wrong, by no checklist, because its kind has none."""

    good: bool = False


def step(state: ItemState, entry: Entry) -> ItemState:
    return state


VERB = Verb(
    name="seen",
    family="item",
    detail=Seen,
    step=step,
    action="take_stock",
    say=gettext_noop("%(tag)s is seen."),
    told=gettext_noop("Seen at a stocktake, in %(store)s."),
    told_with={"good": gettext_noop("Looked over in %(store)s: nothing wrong.")},
)
