"""What a rule may be changed to: each number by itself, and all of them together.

Some things no farm can set: what can maim stops the use and is let out by nobody, and what was shown not to end a
disease does not end its flag.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from equipment.catalogue.rules import Row, Values, names_of
from equipment.catalogue.settable import Setting, settings_of
from equipment.catalogue.shapes import CleaningRule, Disease, FaultType, Recipe
from equipment.catalogue.whole import Catalogue
from equipment.domain.dilution import PPM_IN_ONE_PER_CENT
from equipment.domain.given import BadNumber
from equipment.domain.words import gettext_noop

STRENGTHS = ("test_low_ppm", "target_ppm", "test_high_ppm")
UNKNOWN = gettext_noop("This rule has nothing to set that is called “%(name)s”.")
DAYS_WITHOUT_MEND_BY = gettext_noop(
    "Days to mend it in go with a fault that goes on for some days. Leave them empty."
)
MEND_BY_WITHOUT_DAYS = gettext_noop("Say in how many days it must be mended.")
NO_END = gettext_noop(
    "Nothing would end this sterilising. Give hours in use or on the shelf, or let another block or picker end it."
)
ORDER = gettext_noop(
    "The strength of the bath, %(target)s ppm, lies outside what its test lets pass, %(low)s to %(high)s ppm."
)
TOO_STRONG = gettext_noop(
    "%(agent)s of %(strength)s %% gives at most %(most)s ppm; %(given)s ppm is more. Is the figure right?"
)
TOO_WEAK = gettext_noop(
    "%(agent)s weaker than %(below)s ppm was tried and does not end %(disease)s: %(source)s"
)


@dataclass(frozen=True, slots=True)
class Problem:
    """`setting` is its name, "" for the rule as a whole. `message` is a gettext template; of `params`, `what` is one as
    well, filled by `fills`."""

    setting: str
    message: str
    params: Mapping[str, Any] = field(default_factory=dict)
    fills: Mapping[str, str] = field(default_factory=dict)


def changed(
    row: Row, whole: Catalogue, values: Values, changes: Values
) -> tuple[dict[str, Any], tuple[Problem, ...]]:
    """`values` with `changes`, and what is wrong with that."""
    settings = {setting.name: setting for setting in settings_of(row, whole)}
    new, problems = dict(values), []
    for name, value in changes.items():
        if name not in settings:
            problems.append(Problem("", UNKNOWN, {"name": name}))
            continue
        try:
            new[name] = _checked(settings[name], value, values[name])
        except BadNumber as bad:
            problems.append(Problem(name, bad.message, bad.params, settings[name].params))
    if "within_days" in new and "within_days" not in changes and new["severity"] != "mend_by":
        new["within_days"] = None
    return new, tuple(problems or _together(row, whole, new))


def _checked(setting: Setting, value: Any, now: Any) -> Any:
    if setting.fixed:
        if value != now:
            raise BadNumber(setting.fixed)
        return now
    return setting.checked(value)


def _together(row: Row, whole: Catalogue, values: Values) -> Iterator[Problem]:
    match row:
        case FaultType():
            yield from _of_a_fault(row, values)
        case CleaningRule():
            ends = ("hours_in_use", "shelf_hours", "other_block", "other_picker")
            if row.method == "sterilise" and not any(values[name] for name in ends):
                yield Problem("", NO_END)
        case Recipe():
            yield from _of_a_recipe(row, whole, values)
        case Disease():
            yield from _of_a_disease(row, whole, values)


def _of_a_fault(row: FaultType, values: Values) -> Iterator[Problem]:
    if row.makes_due:
        return
    mend_by, days = values["severity"] == "mend_by", values["within_days"]
    if mend_by and days is None:
        yield Problem("within_days", MEND_BY_WITHOUT_DAYS)
    if not mend_by and days is not None:
        yield Problem("within_days", DAYS_WITHOUT_MEND_BY)


def _of_a_recipe(row: Recipe, whole: Catalogue, values: Values) -> Iterator[Problem]:
    low, target, high = (values.get(name) for name in STRENGTHS)
    if target is None:
        return
    yield from _too_strong(whole, row.agent, "target_ppm", target)
    if low is not None and high is not None and not low <= target <= high:
        yield Problem("target_ppm", ORDER, {"target": target, "low": low, "high": high})


def _of_a_disease(row: Disease, whole: Catalogue, values: Values) -> Iterator[Problem]:
    for way in row.clears:
        if not way.agent:
            continue
        ppm, _seconds = names_of(way)
        yield from _too_strong(whole, way.agent, ppm, values[ppm])
        for tried in row.does_not:
            if tried.agent == way.agent and tried.below_ppm and values[ppm] < tried.below_ppm:
                names = {"agent": _agent(whole, way.agent).name, "disease": row.name}
                yield Problem(ppm, TOO_WEAK, {**names, "below": tried.below_ppm, "source": tried.source})


def _too_strong(whole: Catalogue, code: str, setting: str, ppm: int) -> Iterator[Problem]:
    agent = _agent(whole, code)
    most = round((agent.strength_pct or 100) * PPM_IN_ONE_PER_CENT)
    if ppm > most:
        strength = f"{agent.strength_pct or 100:g}"
        yield Problem(
            setting, TOO_STRONG, {"agent": agent.name, "strength": strength, "most": most, "given": ppm}
        )


def _agent(whole: Catalogue, code: str) -> Any:
    return next(agent for agent in whole.agent if agent.code == code)
