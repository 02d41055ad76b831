"""Gear, steps and what stays short, in plain words: the same on the page, on paper and by the API."""

from collections.abc import Iterable, Mapping

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from equipment.actions import names
from equipment.domain.jobs import Gear
from equipment.domain.words import gettext_noop
from equipment.models import Kind
from equipment.models.planning import Sort, Step

CLEANINGS = {
    "wash": gettext_noop("wash"),
    "sterilise": gettext_noop("sterilise"),
    "dry": gettext_noop("dry"),
}
HANDS = {"left": gettext_noop("left"), "right": gettext_noop("right")}


def gear(each: Gear, kinds: Mapping[str, Kind], many: bool = True) -> str:
    """ "Clippers, left", "Pairs of gloves, M"."""
    kind = kinds[each.kind]
    return ", ".join([_(kind.name_plural) if many else str(kind), *traits(each)])


def traits(each: Gear) -> list[str]:
    return [word for word in (each.size, _(HANDS[each.hand]) if each.hand in HANDS else each.hand) if word]


def steps(found: Iterable[Step]) -> str:
    """What to do, in order: "mend: Hole; then wash"."""
    said = [_step(each) for each in found]
    return said[0] + "".join(_("; then %(step)s") % {"step": step} for step in said[1:]) if said else ""


def _step(step: Step) -> str:
    match step.what:
        case "mend":
            return _("mend: %(fault)s") % {"fault": names.fault(step.name)}
        case "pass":
            return _("have the mend looked at: %(fault)s") % {"fault": names.fault(step.name)}
        case "inspect":
            return _("inspect: %(checklist)s") % {"checklist": names.checklist(step.name)}
        case "restock":
            return _("replace what is past its date")
        case "sterilise" if step.name:
            diseases = ", ".join(names.disease(code) for code in step.name.split())
            return _("clean it of %(disease)s") % {"disease": diseases}
    return _(CLEANINGS[step.what])


def minutes(count: float) -> str:
    """ "43 min", "2 h", "2 h 05 min"."""
    whole = round(count)
    if whole < 120:
        return _("%(n)s min") % {"n": whole}
    if not whole % 60:
        return _("%(n)d h") % {"n": whole // 60}
    return _("%(hours)d h %(minutes)02d min") % {"hours": whole // 60, "minutes": whole % 60}


def follows(sort: Sort, lends: Iterable[tuple[str, int]]) -> list[str]:
    """What follows from what stays short of one sort, and what can be done: a sentence each."""
    said = [_consequence(sort)]
    for store, count in lends:
        words = {"store": store, "n": count}
        said.append(_("%(store)s could lend %(n)d: they are fit there now and not needed.") % words)
    if sort.undecided:
        said.append(
            ngettext(
                "%(n)d lies here that no usual work makes fit: somebody decides, mend or write off.",
                "%(n)d lie here that no usual work makes fit: somebody decides, mend or write off.",
                sort.undecided,
            )
            % {"n": sort.undecided}
        )
    if sort.lacking:
        said.append(_("If nothing else helps: buy %(n)d.") % {"n": sort.lacking})
    return said


def _consequence(sort: Sort) -> str:
    if not sort.lacking:
        return _("Nobody is held back: it is only advised.")
    if sort.by_picker:
        return ngettext(
            "%(n)d picker cannot begin without.", "%(n)d pickers cannot begin without.", sort.lacking
        ) % {"n": sort.lacking}
    if sort.per:
        words = {"n": sort.lacking * sort.per, "per": sort.per}
        return _("One serves %(per)d people: up to %(n)d of them are left without.") % words
    return ngettext(
        "%(n)d crew goes without: it shares with another, or stays.",
        "%(n)d crews go without: they share with others, or stay.",
        sort.lacking,
    ) % {"n": sort.lacking}
