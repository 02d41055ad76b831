"""The strength of a dip bath is tested. One that fails voids every dip since the last good test."""

from typing import Annotated

from pydantic import Field

from equipment.domain.replacing import replace
from equipment.domain.values import BathState, Entry, StrengthTest
from equipment.domain.verbs._base import Detail, Verb
from equipment.domain.words import gettext_noop


class Tested(Detail):
    """`ppm` as read off the strip or meter; `diluted` how many times weaker the sample was made before it was read (10
    for one part of bath and nine of water)."""

    ppm: Annotated[float, Field(ge=0, le=1_000_000, allow_inf_nan=False)]
    diluted: Annotated[float, Field(ge=1, le=10_000, allow_inf_nan=False)] = 1.0


def step(state: BathState, entry: Entry) -> BathState:
    ppm = float(entry.detail["ppm"]) * float(entry.detail.get("diluted", 1))
    return replace(state, tests=(*state.tests, StrengthTest(entry.id, entry.happened_at, ppm)))


VERB = Verb(
    name="tested",
    family="bath",
    detail=Tested,
    step=step,
    action="test_bath",
    say=gettext_noop("The test is written down."),
    told=gettext_noop("Bath tested: read %(ppm)s ppm, diluted %(diluted)s times."),
)
