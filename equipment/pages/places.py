"""Where an item is, in words; how long it has been there."""

from datetime import date, datetime

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from crews.models import Crew, Picker
from equipment.domain import gate
from equipment.models import ItemState

# Their place says it already, so "stays here" need not.
SAID_BY_PLACE = frozenset({"already_out", "missing", "written_off"})


def holder(picker: Picker | None, crew: Crew | None) -> str:
    """Who has it: a picker and their crew, or a crew; "" for nobody."""
    if picker is None:
        return crew.name if crew else ""
    return _("%(picker)s, %(crew)s") % {"picker": picker.called, "crew": crew.name} if crew else picker.called


def where(state: ItemState) -> str:
    """The place in words; the row's picker, crew and store are best selected with it."""
    who = holder(state.picker, state.crew)
    store = state.store.name if state.store else "…"
    if state.place == "store":
        if state.packed_in_id:
            return _("in %(store)s, packed in %(set)s") % {"store": store, "set": state.packed_in_id}
        return _("in %(store)s") % {"store": store}
    if state.place in ("picker", "crew"):
        return _("with %(who)s") % {"who": who}
    if state.place == "orchard":
        words = (
            _("in the orchard, block %(block)s (%(who)s)") if who else _("in the orchard, block %(block)s")
        )
        return words % {"block": state.block_id or "…", "who": who}
    if state.place == "missing":
        return _("missing; last with %(who)s") % {"who": who} if who else _("missing")
    return {"bench": _("on the bench"), "gone": _("written off")}[state.place]


def stays(state: ItemState, at: datetime) -> list[str]:
    """Why it stays here at `at`, in words, beyond what its place says already and what is only a warning."""
    return [_(gate.WORDS.get(code, code)) for code in state.holding_at(at) if code not in SAID_BY_PLACE]


def age(since: datetime | None, day: date) -> str:
    """How many nights it has been there by `day`: "today", "1 night", "3 nights"."""
    nights = (day - timezone.localdate(since)).days if since else 0
    if nights <= 0:
        return _("today")
    return ngettext("%(n)d night", "%(n)d nights", nights) % {"n": nights}
