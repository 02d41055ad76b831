"""What a scan of a stocktake is answered: few big words, why, and what to do now, as at the counter."""

from collections.abc import Iterable
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from equipment.actions.stocktake.scan import Taken
from equipment.actions.wording import moment
from equipment.models import Stocktake, UnknownTag
from equipment.models.stocktaking import Line
from equipment.pages.stocktake.words import Names, name_of

Answer = dict[str, Any]


def answers(stocktake: Stocktake, taken: Iterable[Taken]) -> list[Answer]:
    taken = list(taken)
    firsts = [each.before for each in taken if each.before]
    names = Names(
        [each.line for each in taken if each.line], [f.by for f in firsts if not isinstance(f, UnknownTag)]
    )
    return [_answer(stocktake, each, names) for each in taken]


def _answer(stocktake: Stocktake, each: Taken, names: Names) -> Answer:
    say = _SAID.get(each.outcome)
    if say is not None:
        outcome, words, why, instead = say
        return _told(each, outcome, _(words), [_(why)] if why else [], _(instead) if instead else "")
    if each.outcome == "unknown":
        return _unknown(each)
    line = each.line
    if line is None:
        return _told(each, "yes", _("Seen"), [], "")
    about = str(names.kinds[line.kind])
    old = (
        [_("It wears an old label now; by the book it is %(tag)s.") % {"tag": line.tag}]
        if line.tag != each.tag
        else []
    )
    if each.outcome == "already" and each.before and not isinstance(each.before, UnknownTag):
        why = [_("By %(told)s.") % {"told": names.told(each.before)}]
        return _told(each, "note", _("Seen already"), why, _("Go on with the next piece."), about)
    if line.surprise:
        why = [_surprise(line, names), *old]
        return _told(
            each, "partial", _("Seen, but not expected"), why, _("Put it aside: somebody settles it."), about
        )
    return _told(each, "yes", _("Seen"), [*_beside(stocktake, line), *old], "", about)


def _told(each: Taken, outcome: str, say: str, why: list[str], instead: str, about: str = "") -> Answer:
    shown = {"tag": each.tag, "about": about, "why": why, "instead": instead}
    return {"id": str(each.id), "what": each.outcome, "outcome": outcome, "say": say, **shown}


def _surprise(line: Line, names: Names) -> str:
    words = {"where": names.where(line), "since": moment(line.since)}
    if line.since is None:
        return _("By the book it is %(where)s.") % words
    return _("By the book it is %(where)s, since %(since)s.") % words


def _beside(stocktake: Stocktake, line: Line) -> list[str]:
    """Why it was not on the list, where it was not."""
    if line.expected:
        return []
    if stocktake.kinds and line.kind not in stocktake.kinds:
        return [_("This kind is not counted now. It is written down all the same.")]
    return [_("It came here after the stocktake began.")]


def _unknown(each: Taken) -> Answer:
    why = []
    if isinstance(each.before, UnknownTag):
        told = {"who": name_of(each.before.by), "when": moment(each.before.at)}
        why = [_("Scanned already by %(who)s, %(when)s.") % told]
    return _told(each, "no", _("Not in the book"), why, _("Put it aside: somebody settles it."))


# outcome, words, why, what to do now.
_SAID = {
    "misread": (
        "no",
        gettext_noop("Misread"),
        "",
        gettext_noop("Scan the label again, or type what is printed on it."),
    ),
    "not_gear": ("no", gettext_noop("Not a piece of gear"), "", gettext_noop("Scan the label of a piece.")),
    "set": (
        "no",
        gettext_noop("The tag of a set"),
        gettext_noop("Only what was seen counts."),
        gettext_noop("Open it, and scan its pieces one by one."),
    ),
    "ended": (
        "no",
        gettext_noop("This stocktake has ended"),
        gettext_noop("Nothing was written down."),
        gettext_noop("Begin another one."),
    ),
    "undone": ("no", gettext_noop("Taken back before"), "", gettext_noop("Scan it once more if it is here.")),
}
