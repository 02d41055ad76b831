"""What a farm can set of each rule: the words beside it, its unit and what it may be.

Hours, days and times have an upper end, so that a slip of the hand is asked about and no sum runs over.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from equipment.catalogue.rules import RELEASES, Row, carried_by, defaults, names_of
from equipment.catalogue.shapes import Checklist, CleaningRule, Disease, FaultType, Foresight, Recipe
from equipment.catalogue.whole import Catalogue
from equipment.domain import given
from equipment.domain.dilution import PPM_IN_ONE_PER_CENT
from equipment.domain.words import gettext_noop

Shape = Literal["whole", "hours", "choice", "yes_no"]

A_YEAR_IN_HOURS = 366 * 24
EVERYTHING_PPM = 100 * PPM_IN_ONE_PER_CENT
NEVER = gettext_noop(
    "It can maim: it always stops the use, and nobody lets it out before it is mended. This cannot be set."
)
NOT_THE_MENDER = gettext_noop("Whoever mended this must not be the one to pass it: choose one of the others.")
OFFICER_ONLY = gettext_noop("Somebody was hurt: only the safety officer lets it go. This cannot be set.")


@dataclass(frozen=True, slots=True)
class Setting:
    """`what` are the words beside it, a gettext template for `params`. A number lies from `least` to `most`, both
    included; hours are above zero. `optional`: may be left empty, None. `fixed` says why it cannot be set, `narrowed`
    why some of the usual options are not offered."""

    name: str
    what: str
    shape: Shape
    least: int = 1
    most: int = 0
    optional: bool = False
    options: Mapping[str, str] = field(default_factory=dict)
    params: Mapping[str, str] = field(default_factory=dict)
    help: str = ""
    fixed: str = ""
    narrowed: str = ""

    def checked(self, value: Any) -> Any:
        """The value as it is kept. Raises given.BadNumber, whose message stands beside the setting."""
        if value in (None, "") and self.optional:
            return None
        if self.shape == "choice":
            return self._chosen(value)
        if self.shape == "yes_no":
            return self._said(value)
        if value in (None, "") or isinstance(value, bool):
            raise given.BadNumber(gettext_noop("%(what)s: give a number."), what=self.what)
        if self.shape == "whole":
            return given.count(self.what, value, self.least, self.most)
        return self._hours(value)

    def _hours(self, value: Any) -> float:
        hours = given.above_zero(self.what, value)
        if hours > self.most:
            said = gettext_noop("%(what)s: more than a year, %(given)s hours. Is that figure right?")
            raise given.BadNumber(said, what=self.what, given=value)
        return hours

    def _chosen(self, value: Any) -> str:
        if value in self.options:
            return str(value)
        said = self.narrowed or gettext_noop("%(what)s: choose one of what is offered, not “%(given)s”.")
        raise given.BadNumber(said, what=self.what, given=value)

    def _said(self, value: Any) -> bool:
        if isinstance(value, bool):
            return value
        raise given.BadNumber(gettext_noop("%(what)s: yes or no."), what=self.what)


SEVERITY = Setting(
    "severity",
    gettext_noop("What it means"),
    "choice",
    options={
        "stop_use": gettext_noop("Stops the use: it stays here until it is mended"),
        "mend_by": gettext_noop("Goes on, to be mended within some days"),
        "note": gettext_noop("Is only written down"),
    },
)
WITHIN_DAYS = Setting(
    "within_days",
    gettext_noop("Days to mend it in"),
    "whole",
    most=365,
    optional=True,
    help=gettext_noop("Only where it goes on for some days."),
)
RELEASED_BY = Setting(
    "released_by",
    gettext_noop("Who lets it go once it is mended"),
    "choice",
    options={
        "mender": gettext_noop("Whoever mended it"),
        "second": gettext_noop("Somebody other than the mender"),
        "officer": gettext_noop("The safety officer only"),
    },
)
OVERRIDABLE = Setting(
    "overridable",
    gettext_noop("The safety officer may let it out unmended, with a written why"),
    "yes_no",
)
HOLDS = Setting(
    "holds", gettext_noop("While it is due, the piece stays here (else it is only said)"), "yes_no"
)
CLEANING = (
    Setting(
        "hours_in_use",
        gettext_noop("Hours in use"),
        "hours",
        most=A_YEAR_IN_HOURS,
        optional=True,
        help=gettext_noop("In the hands of pickers, since it was cleaned. Empty: use does not end it."),
    ),
    Setting(
        "shelf_hours",
        gettext_noop("Hours on the shelf"),
        "hours",
        most=A_YEAR_IN_HOURS,
        optional=True,
        help=gettext_noop("Cleaned and put away. Empty: rest does not end it."),
    ),
    Setting("other_block", gettext_noop("Going into another block ends it"), "yes_no"),
    Setting("other_picker", gettext_noop("Going to another picker ends it"), "yes_no"),
    HOLDS,
)
EVERY_DAYS = Setting(
    "every_days",
    gettext_noop("Days between two inspections"),
    "whole",
    least=0,
    most=3650,
    help=gettext_noop("0: each time it has come back, before it goes out again."),
)
RECIPE = {
    "target_ppm": (gettext_noop("Strength of the bath in ppm"), EVERYTHING_PPM),
    "contact_seconds": (gettext_noop("Seconds that it must act"), 24 * 3600),
    "life_minutes": (gettext_noop("Minutes that the bath is good for"), 7 * 24 * 60),
    "items_per_litre": (gettext_noop("Pieces that one litre takes"), 1000),
    "test_low_ppm": (gettext_noop("A strength test fails below, in ppm"), EVERYTHING_PPM),
    "test_high_ppm": (gettext_noop("A strength test fails above, in ppm"), EVERYTHING_PPM),
}
OF_A_FIGURE = (
    Setting(
        "planned_cost",
        gettext_noop("What a planned change costs"),
        "whole",
        least=0,
        most=1_000_000,
        help=gettext_noop(
            "In the shed, before it fails: work and part. In the money of the other; 0: not known."
        ),
    ),
    Setting(
        "failure_cost",
        gettext_noop("What a failure in the orchard costs"),
        "whole",
        least=0,
        most=1_000_000,
        help=gettext_noop("Work and part, the way, and the picking that is lost. 0: not known."),
    ),
    Setting(
        "level_pct",
        gettext_noop("How sure not to run short, in per cent"),
        "whole",
        least=50,
        most=99,
    ),
    Setting("weeks", gettext_noop("Weeks ahead that are bought for"), "whole", most=52),
    Setting(
        "hour_cost",
        gettext_noop("What an hour of mending costs"),
        "whole",
        least=0,
        most=1_000_000,
        help=gettext_noop("0: mends are told in minutes only."),
    ),
)
CARRIED = gettext_noop("%(kind)s carry it from block to block")
PPM = gettext_noop("%(agent)s: at least so many ppm")
SECONDS = gettext_noop("%(agent)s: at least so many seconds")


def settings_of(row: Row, whole: Catalogue) -> tuple[Setting, ...]:
    """What a farm can set of this rule, in the order of the page; nothing where all of it is given."""
    match row:
        case FaultType():
            return () if row.makes_due else tuple(_of_a_fault(row))
        case CleaningRule():
            return CLEANING
        case Checklist():
            return (EVERY_DAYS, HOLDS)
        case Recipe():
            return tuple(
                Setting(name, RECIPE[name][0], "whole", most=RECIPE[name][1]) for name in defaults(row)
            )
        case Disease():
            return tuple(_of_a_disease(row, whole))
        case Foresight():
            return tuple(each for each in OF_A_FIGURE if each.name in defaults(row))


def _of_a_fault(row: FaultType) -> Iterator[Setting]:
    if row.overridable:
        yield from (SEVERITY, WITHIN_DAYS, RELEASED_BY, OVERRIDABLE)
        return
    yield replace(SEVERITY, fixed=NEVER)
    yield replace(WITHIN_DAYS, fixed=NEVER)
    stricter = RELEASES[RELEASES.index(row.released_by) :]
    options = {code: RELEASED_BY.options[code] for code in stricter}
    fixed = OFFICER_ONLY if len(options) == 1 else ""
    narrowed = NOT_THE_MENDER if row.released_by == "second" else ""
    yield replace(RELEASED_BY, options=options, fixed=fixed, narrowed=narrowed)
    yield replace(OVERRIDABLE, fixed=NEVER)


def _of_a_disease(row: Disease, whole: Catalogue) -> Iterator[Setting]:
    agents = {agent.code: agent.name for agent in whole.agent}
    kinds = {kind.code: kind.name_plural for kind in whole.kind}
    for kind in (*row.carriers, *row.may_carry):
        yield Setting(carried_by(kind), CARRIED, "yes_no", params={"kind": kinds[kind]})
    for way in row.clears:
        if way.agent:
            ppm, seconds = names_of(way)
            params = {"agent": agents[way.agent]}
            yield Setting(ppm, PPM, "whole", most=EVERYTHING_PPM, params=params)
            yield Setting(seconds, SECONDS, "whole", most=24 * 3600, params=params)
