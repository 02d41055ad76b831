"""A rule in plain words, from its row of the catalogue and what is set of it."""

from collections.abc import Iterator, Mapping
from typing import Any

from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop, ngettext, pgettext

from equipment.catalogue.rules import Row, Values, carriers, names_of
from equipment.catalogue.settable import Setting
from equipment.catalogue.shapes import Agent, Checklist, CleaningRule, Disease, FaultType, Foresight, Recipe
from equipment.domain.dilution import PPM_IN_ONE_PER_CENT
from equipment.models.rules import whole

METHODS = {
    "sterilise": gettext_noop("sterilise"),
    "wash": gettext_noop("wash"),
    "dry": gettext_noop("dry"),
}
ENDED_BY = {"wash": gettext_noop("Ended by washing."), "dry": gettext_noop("Ended by drying.")}
RELEASED = {
    "second": gettext_noop("Somebody other than the mender passes the mend."),
    "officer": gettext_noop("Only the safety officer lets it go again."),
}


def say(row: Row, values: Values) -> str:
    """What the rule says, in a few sentences."""
    match row:
        case FaultType():
            sentences = _fault(row, values)
        case CleaningRule():
            sentences = _cleaning(values)
        case Checklist():
            sentences = _inspection(values)
        case Recipe():
            sentences = _recipe(row, values)
        case Disease():
            sentences = _disease(row, values)
        case Foresight():
            sentences = _figures(values)
    return " ".join(sentences)


def _fault(row: FaultType, values: Values) -> Iterator[str]:
    if row.makes_due == "wash":
        yield _("No fault to mend: found, it makes washing due at once.")
    elif row.makes_due == "dry":
        yield _("No fault to mend: found, it makes drying due at once.")
    elif values["severity"] == "note":
        yield _("Is only written down.")
    elif values["severity"] == "mend_by":
        days = values["within_days"]
        yield ngettext(
            "Goes on, to be mended within %(n)s day.", "Goes on, to be mended within %(n)s days.", days
        ) % {"n": days}
    else:
        yield _("Stops the use until it is mended.")
    if not row.makes_due and values["released_by"] in RELEASED:
        yield _(RELEASED[values["released_by"]])
    if not row.makes_due and values["severity"] == "stop_use":
        if values["overridable"]:
            yield _("The safety officer may let it out with a written why.")
        else:
            yield _("Nobody may let it out before.")


def _cleaning(values: Values) -> Iterator[str]:
    ends = [
        _hours(values["hours_in_use"], _("hours in use")),
        _hours(values["shelf_hours"], _("hours on the shelf")),
        _("another block") if values["other_block"] else "",
        _("another picker") if values["other_picker"] else "",
        _("dirt"),
    ]
    yield _("Holds until the first of: %(ends)s.") % {"ends": ", ".join(end for end in ends if end)}
    yield _holds(values)


def _hours(hours: float | None, words: str) -> str:
    return f"{hours:g} {words}" if hours else ""


def _inspection(values: Values) -> Iterator[str]:
    days = values["every_days"]
    if days:
        yield ngettext("Every day.", "Every %(n)s days.", days) % {"n": days}
    else:
        yield _("Each time it has come back, before it goes out again.")
    yield _holds(values)


def _holds(values: Values) -> str:
    if values["holds"]:
        return _("While it is due, the piece stays here.")
    return _("While it is due, that is said, and the piece may go out.")


def _recipe(row: Recipe, values: Values) -> Iterator[str]:
    by = agent(row.agent)
    if "target_ppm" in values:
        words = {"agent": _(by.measured_as), "ppm": ppm(values["target_ppm"])}
        if row.ready_to_use:
            yield _("Used as it comes: %(ppm)s of %(agent)s.") % words
        else:
            yield _("Mixed to %(ppm)s of %(agent)s.") % words
    if "contact_seconds" in values:
        yield _("It must act for %(time)s at least.") % {"time": lasting(values["contact_seconds"])}
    if "life_minutes" in values:
        yield ngettext(
            "Good for %(time)s, and for %(pieces)s piece a litre.",
            "Good for %(time)s, and for %(pieces)s pieces a litre.",
            values["items_per_litre"],
        ) % {"time": lasting(values["life_minutes"] * 60), "pieces": values["items_per_litre"]}
    if "test_low_ppm" in values:
        limits = {"low": ppm(values["test_low_ppm"]), "high": ppm(values["test_high_ppm"])}
        yield _("A strength test passes from %(low)s to %(high)s.") % limits
    if row.ph_low and row.ph_high:
        said = _(
            "Only with a product that is labelled for pH %(low)s to %(high)s, and the pH is written down."
        )
        yield said % {"low": row.ph_low, "high": row.ph_high}
    if row.method == "wash":
        yield _("A wash, not a disinfectant: no strength and no time to measure.")


def _disease(row: Disease, values: Values) -> Iterator[str]:
    carried = carriers(row, values)
    if not carried:
        yield _("No gear carries it.")
    elif carried != row.carriers:
        kinds = {kind.code: _(kind.name_plural) for kind in whole().kind}
        yield _("Carried by %(kinds)s.") % {"kinds": ", ".join(kinds[kind] for kind in carried)}
    for way in row.clears:
        if way.agent is None:
            yield _(ENDED_BY[way.method or "wash"])
            continue
        strength, time = names_of(way)
        words = {
            "agent": _(agent(way.agent).name),
            "ppm": ppm(values[strength]),
            "time": lasting(values[time]),
        }
        yield _("Ended by %(agent)s of at least %(ppm)s for at least %(time)s.") % words


def _figures(values: Values) -> Iterator[str]:
    if "level_pct" in values:
        yield _("Spares and purchases are to last with %(level)s %%.") % {"level": values["level_pct"]}
        yield ngettext("Bought for %(n)s week ahead.", "Bought for %(n)s weeks ahead.", values["weeks"]) % {
            "n": values["weeks"]
        }
        if values["hour_cost"]:
            yield _("An hour of mending costs %(cost)s.") % {"cost": number_format(values["hour_cost"])}
    elif values["planned_cost"] and values["failure_cost"]:
        costs = {name: number_format(values[name]) for name in ("planned_cost", "failure_cost")}
        yield _("A planned change costs %(planned_cost)s, a failure in the orchard %(failure_cost)s.") % costs
    else:
        yield _("Nobody has said what a planned change and a failure cost.")


def agent(code: str) -> Agent:
    return next(agent for agent in whole().agent if agent.code == code)


def ppm(value: int) -> str:
    """A strength in ppm and, from 0.1 %, in per cent as well."""
    said = number_format(value, force_grouping=True)
    if value < PPM_IN_ONE_PER_CENT / 10:
        return _("%(ppm)s ppm") % {"ppm": said}
    return _("%(ppm)s ppm (%(per_cent)s %%)") % {"ppm": said, "per_cent": f"{value / PPM_IN_ONE_PER_CENT:g}"}


def lasting(seconds: int) -> str:
    """A span of time in the largest unit that it is whole in."""
    if seconds % 3600 == 0:
        return ngettext("%(n)s hour", "%(n)s hours", seconds // 3600) % {"n": seconds // 3600}
    if seconds % 60 == 0:
        return ngettext("%(n)s minute", "%(n)s minutes", seconds // 60) % {"n": seconds // 60}
    return ngettext("%(n)s second", "%(n)s seconds", seconds) % {"n": seconds}


def label(setting: Setting) -> str:
    params: Mapping[str, Any] = {key: _(value) for key, value in setting.params.items()}
    return _(setting.what) % params if params else _(setting.what)


def value(setting: Setting, given: Any) -> str:
    """One value of a setting, as a person reads it."""
    if given is None:
        return pgettext("a number that is not set", "none")
    if setting.shape == "yes_no":
        return _("yes") if given else _("no")
    if setting.shape == "choice":
        return _(setting.options.get(given, given))
    if setting.name.endswith("ppm"):
        return ppm(given)
    return f"{given:g}"
