"""The upkeep of a piece in plain words: its clocks, its inspections, its last cleanings, its flags."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from equipment.actions import names
from equipment.actions.wording import moment, refusal
from equipment.domain.clock import CAUSES
from equipment.domain.condition import CONTENTS, CleaningDue, InspectionDue
from equipment.domain.verbs.cleaned import CLEANINGS
from equipment.domain.words import gettext_noop
from equipment.models import Entry
from equipment.pages.life import name
from equipment.pages.offers import Offer, about
from equipment.pages.piece import Piece

# Why a cleaning will end, said ahead of time; of the other causes nobody knows beforehand.
ENDS = {
    "hours": gettext_noop("then its hours in use are up"),
    "rest": gettext_noop("then it has lain too long"),
}
DUE = {
    "sterilise": gettext_noop("To be sterilised since %(at)s: %(cause)s."),
    "wash": gettext_noop("To be washed since %(at)s: %(cause)s."),
    "dry": gettext_noop("To be dried since %(at)s: %(cause)s."),
}


@dataclass(frozen=True)
class Clock:
    """One cleaning that runs out: in words, with whether it has, and whether the piece stays here for it."""

    say: str
    due: bool
    holds: bool


@dataclass(frozen=True)
class ToldInspection:
    """`next` says when it is due, `due` whether it is; `offers` are what this person may do about it."""

    name: str
    every: str
    last: datetime | None
    next: str
    due: bool
    holds: bool
    offers: Sequence[Offer] = ()


@dataclass(frozen=True)
class ToldCleaning:
    """The last cleaning of a method: `why` it does not count, "" where it does."""

    what: str
    at: datetime
    by: str
    why: str


def clocks(piece: Piece) -> list[Clock]:
    return [
        _clock(due, piece.at) for due in piece.found.cleanings if due.at is not None or due.since is not None
    ]


def _clock(due: CleaningDue, at: datetime) -> Clock:
    cause = _(CAUSES[due.cause]) if due.cause else ""
    if due.at is not None and due.at <= at:
        return Clock(_(DUE[due.method]) % {"at": moment(due.at), "cause": cause}, True, due.holds)
    words = {"what": _(CLEANINGS[due.method]), "since": moment(due.since), "until": moment(due.at)}
    if due.at is None:
        return Clock(_("%(what)s %(since)s: holds while nothing happens to it.") % words, False, due.holds)
    words["then"] = _(ENDS[due.cause]) if due.cause in ENDS else cause  # type: ignore[index]
    return Clock(_("%(what)s %(since)s: holds until %(until)s; %(then)s.") % words, False, due.holds)


def inspections(piece: Piece, offered: Sequence[Offer] = ()) -> list[ToldInspection]:
    every = {rule.checklist: rule.every_days for rule in piece.rules.inspections.get(piece.kind, ())}
    return [
        _inspection(due, every.get(due.checklist), piece, about(offered, due.checklist, "checklist"))
        for due in piece.found.inspections
    ]


def _inspection(
    due: InspectionDue, every: int | None, piece: Piece, offered: Sequence[Offer]
) -> ToldInspection:
    contents = due.checklist == CONTENTS
    return ToldInspection(
        name=_("What belongs in it") if contents else names.checklist(due.checklist),
        every=_every(every),
        last=due.last,
        next=_next(due, every, piece.at),
        due=due.at is not None and due.at <= piece.at,
        holds=due.holds,
        offers=offered,
    )


def _every(days: int | None) -> str:
    if days is None:
        return ""
    if days == 0:
        return _("before each day's first use")
    return ngettext("every %(n)d day", "every %(n)d days", days) % {"n": days}


def _next(due: InspectionDue, every: int | None, at: datetime) -> str:
    if due.at is None:
        return _("when it has come back, before it goes out again")
    day = date_format(timezone.localtime(due.at), _("j F Y"))
    if due.checklist == CONTENTS:
        return (_("past its date since %(day)s") if due.at <= at else _("in date until %(day)s")) % {
            "day": day
        }
    if due.at > at:
        return _("by %(day)s") % {"day": day}
    return _("before it goes out") if every == 0 else _("due since %(day)s") % {"day": day}


def cleanings(piece: Piece) -> list[ToldCleaning]:
    """The last of each method that stands in the book, whether or not it counts. Two queries."""
    rows = Entry.objects.filter(item=piece.row.item_id, verb__in=("cleaned", "reversed")).select_related("by")
    undone: set[str] = set()
    last: dict[str, Entry] = {}
    for entry in rows.order_by("-happened_at", "-id")[:100]:
        if entry.verb == "reversed":
            undone.add(entry.detail["entry"])
        elif str(entry.pk) not in undone:
            last.setdefault(entry.detail["method"], entry)
    return [_cleaning(entry, piece) for entry in last.values()]


def _cleaning(entry: Entry, piece: Piece) -> ToldCleaning:
    what = _(CLEANINGS[entry.detail["method"]])
    recipe = names.recipe(entry.detail.get("recipe") or "")
    code = against(entry, piece)
    return ToldCleaning(
        f"{what}: {recipe}" if recipe else what,
        entry.happened_at,
        name(entry.by),
        refusal(code, {"tag": piece.row.tag}) if code else "",
    )


def against(entry: Entry, piece: Piece) -> str:
    """Why this cleaning does not count, "" where it does: by its own detail, the dirt on the piece, or its bath."""
    if entry.pk in {cleaning.entry for cleaning in piece.told.cleanings}:
        return piece.void.get(entry.pk, "")
    detail = entry.detail
    if detail.get("wrong"):
        return str(detail["wrong"])
    needs = detail.get("needs_seconds")
    return "too_short" if needs and (detail.get("seconds") or 0) < needs else "dirt_first"


def flags(piece: Piece) -> list[str]:
    """What it may carry, and since when it is flagged; a flag that a cleaning ended is not told."""
    return [
        _("It may carry %(disease)s, flagged %(at)s.")
        % {"disease": names.disease(flag.disease), "at": moment(flag.at)}
        for flag in piece.told.flags
        if flag.disease in piece.found.flags
    ]
