"""The open faults of pieces in plain words: what, since when and by whom, how to mend it, who passes the mend."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from crews.models import User
from equipment.actions import names
from equipment.actions.mend import may_pass
from equipment.domain.rules import FaultRule
from equipment.domain.values import OpenFault
from equipment.domain.words import gettext_noop
from equipment.models import Entry, Note, Photo
from equipment.pages.fault_texts import text_of
from equipment.pages.life import name
from equipment.pages.offers import Offer, about
from equipment.pages.piece import Piece

BEFORE = {
    "second": gettext_noop("After the mend somebody other than the mender looks at it and passes it."),
    "officer": gettext_noop("After the mend only the safety officer passes it."),
}


@dataclass(frozen=True)
class ToldFault:
    """`weight` says what it means for the use of the piece, `passing` who lets it go after the mend, "" for the mender.
    `photo` is the name of a picture that can be shown, `erased` says that there was one. `offers`: what this person may
    do about it."""

    code: str
    name: str
    at: datetime
    by: str
    note: str
    look_for: str
    mend: str
    never: str
    weight: str
    passing: str
    mended: str = ""
    photo: str = ""
    erased: bool = False
    stops: bool = True
    offers: Sequence[Offer] = ()

    @property
    def waits(self) -> bool:
        return bool(self.mended)


@dataclass(frozen=True)
class Background:
    """What stands in the book about these faults: the entries that found them, who mended what, which pictures live."""

    entries: Mapping[UUID, Entry]
    people: Mapping[int, User]
    photos: Mapping[str, bool]


def background(pieces: Iterable[Piece]) -> Background:
    """Three queries at most, however many pieces."""
    faults = [fault for piece in pieces for fault in piece.open_faults]
    if not faults:
        return Background({}, {}, {})
    rows = Entry.objects.select_related("by", "written_note")
    entries = rows.in_bulk({fault.entry for fault in faults})
    menders = {fault.mended_by for fault in faults if fault.mended_by is not None}
    shown = {str(e.detail["photo"]) for e in entries.values() if e.detail.get("photo")}
    kept = dict(Photo.objects.filter(pk__in=shown).values_list("pk", "erased_at")) if shown else {}
    return Background(
        entries,
        User.objects.in_bulk(menders) if menders else {},
        {photo: kept[photo] is None for photo in shown if photo in kept},
    )


def told_faults(
    piece: Piece, beside: Background, user: User, offered: Sequence[Offer] = ()
) -> list[ToldFault]:
    """Those that stop its use first."""
    found = [_told(fault, piece, beside, user, offered) for fault in piece.open_faults]
    return sorted(found, key=lambda fault: not fault.stops)


def _told(
    fault: OpenFault, piece: Piece, beside: Background, user: User, offered: Sequence[Offer]
) -> ToldFault:
    text, rule = text_of(fault.fault), piece.rules.fault(fault.fault)
    entry = beside.entries.get(fault.entry)
    note: Note | None = getattr(entry, "written_note", None)
    photo = str(entry.detail.get("photo") or "") if entry else ""
    return ToldFault(
        code=fault.fault,
        name=names.fault(fault.fault),
        at=fault.at,
        by=name(entry.by) if entry else "",
        note=note.text if note else "",
        look_for=_(text.look_for) if text else "",
        mend=_(text.mend) if text else "",
        never=_(text.never) if text else "",
        weight=weight(fault, rule, piece),
        passing=passing(fault, rule, beside, user),
        mended=_mended(fault, beside),
        photo=photo if beside.photos.get(photo) else "",
        erased=beside.photos.get(photo) is False,
        stops=rule.severity == "stop_use" or fault.mended_at is not None,
        offers=about(offered, fault.fault, "fault"),
    )


def weight(fault: OpenFault, rule: FaultRule, piece: Piece) -> str:
    """What the fault means for the use of the piece."""
    if fault.mended_at is not None:
        return _("Stays here until the mend is passed.")
    until = {each.entry: at for each, at in piece.found.mending}.get(fault.entry)
    if until is not None:
        day = date_format(timezone.localtime(until), _("j F H:i"))
        overdue = _("Was to be mended by %(day)s: it stays here until it is.")
        return (overdue if until <= piece.at else _("To be mended by %(day)s; it goes out until then.")) % {
            "day": day
        }
    if rule.severity == "stop_use":
        return _("Stops its use until it is mended.")
    return _("Written down; it goes out.")


def passing(fault: OpenFault, rule: FaultRule, beside: Background, user: User) -> str:
    """Who lets it go after the mend; "" where the mender does."""
    if fault.mended_at is None:
        return _(BEFORE[rule.released_by]) if rule.released_by in BEFORE else ""
    if fault.release == "officer":
        return _("Only the safety officer looks at it and passes it.")
    mender = beside.people.get(fault.mended_by or 0)
    words = {"mender": name(mender) if mender else "…"}
    if not may_pass(user, fault):
        return _("You mended it: somebody else looks at it and passes it.")
    return _("Somebody other than %(mender)s looks at it and passes it.") % words


def _mended(fault: OpenFault, beside: Background) -> str:
    if fault.mended_at is None:
        return ""
    mender = beside.people.get(fault.mended_by or 0)
    when = date_format(timezone.localtime(fault.mended_at), _("j F H:i"))
    return _("Mended %(when)s by %(by)s.") % {"when": when, "by": name(mender) if mender else "…"}
