"""What is left of a lot was counted: from then on that is what is left."""

from typing import Annotated

from pydantic import Field

from equipment.domain.replacing import replace
from equipment.domain.values import Entry, LotState
from equipment.domain.verbs._base import Detail, Verb, exact
from equipment.domain.words import gettext_noop


class Counted(Detail):
    """`left` in the unit of the goods."""

    left: Annotated[float, Field(ge=0, le=1_000_000, allow_inf_nan=False)]


def step(state: LotState, entry: Entry) -> LotState:
    left = float(entry.detail["left"])
    return replace(state, left=left, counted_at=entry.happened_at, differed=exact(left - state.left))


VERB = Verb(
    name="counted",
    family="lot",
    detail=Counted,
    step=step,
    action="count_goods",
    say=gettext_noop("Counted."),
    told=gettext_noop("Counted: %(left)s left."),
)
