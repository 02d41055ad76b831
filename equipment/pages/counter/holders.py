"""From a scanned code to whoever it stands for: a picker by badge, a crew by tag, the last holder of an item."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.template.loader import render_to_string

from crews.models import Badge, BadgeLoan, Crew, Picker
from equipment.domain import codes
from equipment.models import Entry, ItemState, Membership
from equipment.models.crew_kits import CrewKit, crew_kit
from equipment.models.kits import PickerKit, kits
from equipment.pages.counter import cards

Refused = dict[str, Any]
Kit = PickerKit | CrewKit


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


def by_codes(asked: Iterable[str], day: date) -> dict[str, Holder]:
    """Whose each of these badges and crew tags is on `day`, in two queries; those of nobody are left out."""
    asked = set(asked)
    loans = BadgeLoan.objects.on(day).filter(badge__in=asked).select_related("picker")
    lent = {loan.badge_id: loan for loan in loans.annotate(team=Membership.crew_of("picker"))}
    teams = {loan.team for loan in lent.values()} - {None}  # type: ignore[attr-defined]
    crews = Crew.objects.in_bulk(teams | {code for code in asked if code.startswith(codes.CREW)})
    found = {code: Holder(code, None, crews[code], crews[code]) for code in asked if code in crews}
    for code, loan in lent.items():
        found[code] = Holder(code, loan.picker, None, crews.get(loan.team))  # type: ignore[attr-defined]
    return found


def by_picker(picker: Picker, day: date) -> Holder:
    """A picker with their card of the day, if they have one."""
    loan = BadgeLoan.objects.on(day).filter(picker=picker).order_by("-from_day", "-id").first()
    member = Membership.objects.filter(picker=picker).current().select_related("crew").first()
    return Holder(loan.badge_id if loan else "", picker, None, member.crew if member else None)


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


def kits_of(holders: Iterable[Holder], day: date) -> dict[str, Kit]:
    """The kits of these holders by their codes; all pickers in the queries of one."""
    holders = list(holders)
    of_pickers = {kit.picker.pk: kit for kit in kits([h.picker for h in holders if h.picker], day)}
    return {h.code: of_pickers[h.picker.pk] if h.picker else crew_kit(h.crew, day) for h in holders}  # type: ignore[arg-type]


def kit_answer(holder: Holder, kit: Kit, kinds: cards.Kinds, at: datetime) -> dict[str, Any]:
    """The kit card of a holder as HTML, with what the script must know of it."""
    card = cards.card(kit, kinds, at, holder.code, holder.team)
    html = render_to_string("_partials/kit_card.html", {"kit": card, "plain": True})
    return {**left_behind(holder, kit, kinds), "html": html}


def left_behind(holder: Holder, kit: Kit, kinds: cards.Kinds) -> dict[str, Any]:
    """Whether a holder is complete, and what is missing."""
    return {**holder.shown(), "complete": kit.complete, "missing": cards.missing(kit, kinds)}


def owed_answer(holder: Holder) -> dict[str, Any]:
    """What a holder still has to bring back tonight, as HTML and as a list."""
    states = (
        ItemState.objects.out()
        .select_related("item__kind")
        .defer("fold")
        .order_by("item__kind__position", "tag")
    )
    mine = (
        states.filter(picker=holder.picker)
        if holder.picker
        else states.filter(place="crew", crew=holder.crew)
    )
    owes = cards.owed(mine)
    html = render_to_string("_partials/owes.html", {"holder": holder.shown(), "owes": owes})
    return {**holder.shown(), "owes": owes, "html": html}
