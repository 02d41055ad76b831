"""From a scanned code to whoever it stands for: a picker by badge, a crew by tag, the last holder of an item."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.template.loader import render_to_string

from crews.models import Badge, BadgeLoan, Crew, Picker
from equipment.domain import codes
from equipment.models import Entry, ItemState, Membership
from equipment.models.crew_kits import crew_kit
from equipment.models.kits import kits
from equipment.pages.counter import cards

Refused = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Holder:
    """Exactly one of `picker` and `crew` holds; `team` is the crew of the picker, or the crew itself. `code` is the
    badge or the crew's tag, empty for a picker without a card today."""

    code: str
    picker: Picker | None
    crew: Crew | None
    team: Crew | None

    @property
    def name(self) -> str:
        return self.picker.name if self.picker else str(self.crew)

    def shown(self) -> dict[str, Any]:
        team = {"code": self.team.pk, "name": self.team.name} if self.team else None
        return {"code": self.code, "who": self.name, "crew": team}


def by_code(code: str, day: date) -> Holder | None:
    """Whose `code`, a badge or a crew's tag, is on `day`."""
    if code.startswith(codes.CREW):
        crew = Crew.objects.filter(pk=code).first()
        return Holder(code, None, crew, crew) if crew else None
    loan = BadgeLoan.objects.on(day).filter(badge=code).select_related("picker").first()
    return by_picker(loan.picker, day, code) if loan else None


def by_picker(picker: Picker, day: date, badge: str = "") -> Holder:
    if not badge:
        loan = BadgeLoan.objects.on(day).filter(picker=picker).order_by("-from_day", "-id").first()
        badge = loan.badge_id if loan else ""
    member = Membership.objects.filter(picker=picker).current().select_related("crew").first()
    return Holder(badge, picker, None, member.crew if member else None)


def by_item(tag: str, day: date) -> Holder | None:
    """Who had the item of this label last, by the book."""
    entries = Entry.objects.filter(item__labels__code=tag, verb__in=("handed_out", "reversed"))
    rows = list(entries.select_related("picker", "crew").order_by("-happened_at"))
    undone = {row.detail["entry"] for row in rows if row.verb == "reversed"}
    given = next((row for row in rows if row.verb == "handed_out" and str(row.pk) not in undone), None)
    if given is None:
        return None
    if given.picker is None:
        return Holder(str(given.crew_id), None, given.crew, given.crew)
    return by_picker(given.picker, day)


def no_holder(code: str, day: date) -> Refused:
    """Why a badge or crew tag stands for nobody today: `{"code", ...}` as `words.REFUSED` knows it."""
    if code.startswith(codes.CREW):
        return {"code": "unknown_crew"}
    badge = Badge.objects.filter(pk=code).first()
    if badge is None:
        return {"code": "unknown_picker"}
    if badge.died_on is not None and badge.died_on <= day:
        return {"code": "dead_card"}
    return {"code": "blank_day_card" if badge.day_card else "unknown_picker"}


def kit_answer(holder: Holder, at: datetime, day: date) -> dict[str, Any]:
    """The kit card of a holder as HTML, with what the script must know of it."""
    if holder.picker is None:
        kit: Any = crew_kit(holder.crew, day)  # type: ignore[arg-type]
        card = cards.crew_card(kit, at)
    else:
        kit = kits([holder.picker], day)[0]
        card = cards.picker_card(kit, holder.code, holder.team, at)
    html = render_to_string("_partials/kit_card.html", {"kit": card, "plain": True})
    return {**holder.shown(), "html": html, "complete": kit.complete, "missing": cards.missing(kit)}


def left_behind(holder: Holder, day: date) -> dict[str, Any]:
    """Whether the holder before this one went away complete."""
    kit: Any = kits([holder.picker], day)[0] if holder.picker else crew_kit(holder.crew, day)  # type: ignore[arg-type]
    return {**holder.shown(), "complete": kit.complete, "missing": cards.missing(kit)}


def owed_answer(holder: Holder) -> dict[str, Any]:
    """What a holder still has to bring back tonight, as HTML and as a list."""
    states = ItemState.objects.out().select_related("item__kind").defer("fold").order_by("item__kind__position", "tag")
    mine = states.filter(picker=holder.picker) if holder.picker else states.filter(place="crew", crew=holder.crew)
    owes = cards.owed(mine)
    html = render_to_string("_partials/owes.html", {"holder": holder.shown(), "owes": owes})
    return {**holder.shown(), "owes": owes, "html": html}
