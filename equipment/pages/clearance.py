"""The slip for a picker who leaves: what is still out in their name, and what came back."""

from datetime import date, datetime
from uuid import UUID

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.text import slugify
from django.utils.translation import gettext as _

from crews.models import Crew, Picker
from equipment.documents import slips
from equipment.models import Entry, ItemState
from equipment.models.reading import pickers

# A slip speaks of the last season, not of a working life.
MOST_BACK = 200


def clearance(request: HttpRequest, pk: int) -> HttpResponse:
    day = timezone.localdate()
    picker = pickers(day, request.user).filter(pk=pk).first()
    if picker is None:
        raise Http404
    made = slips.clearance_slips([slip_of(picker, day)], settings.FARM_NAME)
    name = f'inline; filename="clearance-{slugify(picker.number) or picker.pk}.pdf"'
    return HttpResponse(made, content_type="application/pdf", headers={"Content-Disposition": name})


def slip_of(picker: Picker, day: date) -> slips.ClearanceSlip:
    """For a picker as `reading.pickers` gives them, with `badge` and `crew`."""
    crew = Crew.objects.filter(pk=picker.crew).first()  # type: ignore[attr-defined]
    return slips.ClearanceSlip(
        picker=picker.called,
        badge=picker.badge or "",  # type: ignore[attr-defined]
        crew=crew.name if crew else "",
        day=day,
        out=tuple(_out(picker)),
        back=tuple(_back(picker)),
    )


def _out(picker: Picker) -> list[slips.Piece]:
    """What the picker has, and what is missing and was last with them."""
    states = ItemState.objects.filter(picker=picker).exclude(place="gone").select_related("item__kind")
    ordered = states.defer("fold").order_by("item__kind__position", "tag")
    return [slips.Piece(_kind(state), state.tag, timezone.localdate(state.since)) for state in ordered]


def _kind(state: ItemState) -> str:
    kind = str(state.item.kind)
    return _("%(kind)s (missing)") % {"kind": kind} if state.place == "missing" else kind


def _back(picker: Picker) -> list[slips.Piece]:
    """Each item that the picker had, with the last day on which it left their name, the latest first."""
    left = _left(picker)
    states = (
        ItemState.objects.filter(item__in=left)
        .exclude(picker=picker)
        .select_related("item__kind")
        .defer("fold")
    )
    pieces = [slips.Piece(str(s.item.kind), s.tag, timezone.localdate(left[s.item_id])) for s in states]
    return sorted(pieces, key=lambda piece: (piece.day, piece.tag), reverse=True)[:MOST_BACK]


def _left(picker: Picker) -> dict[UUID, datetime]:
    """When each item last went from this picker to a store or to somebody else."""
    had = Entry.objects.filter(verb="handed_out", picker=picker).values("item")
    moves = Entry.objects.filter(item__in=had, verb__in=("handed_out", "returned", "reversed"))
    rows = list(
        moves.order_by("happened_at", "id").only(
            "id", "verb", "item_id", "picker_id", "happened_at", "detail"
        )
    )
    struck = {UUID(row.detail["entry"]) for row in rows if row.verb == "reversed"}
    holding: set[UUID] = set()
    left: dict[UUID, datetime] = {}
    for row in rows:
        if row.verb == "reversed" or row.pk in struck:
            continue
        if row.verb == "handed_out" and row.picker_id == picker.pk:
            holding.add(row.item_id)
        elif row.item_id in holding:
            holding.discard(row.item_id)
            left[row.item_id] = row.happened_at
    return left
