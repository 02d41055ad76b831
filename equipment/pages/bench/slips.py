"""The "do not use" slips of unfit pieces: of those named, or of all that lie on the bench."""

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.translation import gettext as _

from crews.models import User
from equipment.actions import names
from equipment.documents.do_not_use import DoNotUse, Wrong, do_not_use_slips
from equipment.domain import codes
from equipment.domain.condition import CONTENTS
from equipment.models import ItemState, Label
from equipment.models.reading import items
from equipment.pages.bench.form import NarrowForm
from equipment.pages.fault_texts import cautions
from equipment.pages.links import link
from equipment.pages.piece import Piece, pieces
from equipment.pages.printing import pdf
from equipment.pages.told_faults import BEFORE, Background, ToldFault, background, told_faults

MOST = 400


def do_not_use_pdf(request: HttpRequest) -> HttpResponse:
    at = timezone.now()
    shown = pieces(_rows(request), at)
    beside = background(shown)
    slips = [slip for piece in shown if (slip := _slip(piece, beside, request.user))]  # type: ignore[arg-type]
    try:
        return pdf(do_not_use_slips(slips, settings.FARM_NAME, settings.LABEL_URL_BASE), "do-not-use")
    except ValueError as why:
        messages.error(request, str(why))
        return redirect(link(request.user, "bench") or link(request.user, "gear"))  # type: ignore[arg-type]


def _rows(request: HttpRequest) -> Sequence[ItemState]:
    """The pieces named in `tags`, else those set aside that the bench shows."""
    rows = items(timezone.localdate(), request.user).select_related("item__kind", "store")  # type: ignore[arg-type]
    if tags := request.GET.get("tags", ""):
        return list(rows.filter(item__in=_labelled(tags)).defer(None).order_by("tag")[:MOST])
    narrowed = NarrowForm(request.GET, request.user).narrowed()  # type: ignore[arg-type]
    return list(narrowed.of(rows.filter(place="bench")).defer(None).order_by("since", "tag")[:MOST])


def _labelled(text: str) -> Any:
    """The items with these labels, old or new; what cannot be read as a code finds nothing."""
    found = []
    for part in text.replace(",", " ").split()[:MOST]:
        try:
            found.append(codes.parse(part).text)
        except codes.BadCode:
            continue
    return Label.objects.filter(code__in=found).values("item")


def _slip(piece: Piece, beside: Background, user: User) -> DoNotUse | None:
    """None for a piece that nothing but a cleaning keeps here."""
    faults = [fault for fault in told_faults(piece, beside, user) if _counts(fault, piece)]
    wrongs = [*_faults(faults), *_others(piece)]
    if not wrongs or piece.row.place == "gone":
        return None
    item = piece.row.item
    what = ", ".join(str(each) for each in (item.kind, item.make, item.size) if each)
    return DoNotUse(piece.row.tag, what, tuple(wrongs), _passing(piece, faults), tuple(cautions(piece.kind)))


def _counts(fault: ToldFault, piece: Piece) -> bool:
    """Whether the fault keeps the piece here now."""
    overdue = {each.fault for each, until in piece.found.mending if until <= piece.at}
    return fault.stops or fault.code in overdue


def _faults(faults: Iterable[ToldFault]) -> Iterator[Wrong]:
    for fault in faults:
        what = _("%(fault)s: mended, not passed yet") % {"fault": fault.name} if fault.waits else fault.name
        yield Wrong(what, timezone.localtime(fault.at), fault.by, fault.never)


def _others(piece: Piece) -> Iterator[Wrong]:
    """Flags, and inspections that are overdue."""
    for disease in piece.found.flags:
        yield Wrong(_("It may carry %(disease)s") % {"disease": names.disease(disease)})
    for due in piece.found.inspections:
        if due.holds and due.at is not None and due.at <= piece.at:
            contents = _("What belongs in it is past its date")
            overdue = _("Inspection overdue: %(checklist)s") % {"checklist": names.checklist(due.checklist)}
            yield Wrong(contents if due.checklist == CONTENTS else overdue)


def _passing(piece: Piece, faults: Iterable[ToldFault]) -> str:
    """The strictest of what the faults ask for."""
    asked = {piece.rules.fault(fault.code).released_by for fault in faults}
    return next((_(BEFORE[who]) for who in ("officer", "second") if who in asked), "")
