"""Querysets that several surfaces read from: items and pickers with their cards, limited to what one may see."""

from datetime import date

from django.db.models import OuterRef, QuerySet, Subquery

from crews import policy
from crews.models import BadgeLoan, Crew, Picker, User
from equipment.models.states import ItemState, Membership


def _card(picker: str, day: date) -> Subquery:
    loans = BadgeLoan.objects.on(day).filter(picker=OuterRef(picker)).order_by("-from_day", "-id")
    return Subquery(loans.values("badge")[:1])


def items(day: date, user: User) -> QuerySet[ItemState]:
    """Items with `badge`, the card of whoever has it; a supervisor sees what their own crews hold."""
    rows = ItemState.objects.select_related("item__kind").annotate(badge=_card("picker", day)).defer("fold")
    return rows.filter(crew__in=own_crews(user)) if policy.only_own_crews(user) else rows


def pickers(day: date, user: User) -> QuerySet[Picker]:
    """Pickers with `badge` and `crew`, None where they have none."""
    rows = Picker.objects.annotate(badge=_card("pk", day), crew=Membership.crew_of("pk"))
    return rows.filter(crew__in=own_crews(user)) if policy.only_own_crews(user) else rows


def crews(user: User) -> QuerySet[Crew]:
    """All crews, or those that a supervisor leads."""
    return own_crews(user) if policy.only_own_crews(user) else Crew.objects.all()


def own_crews(user: User) -> QuerySet[Crew]:
    return Crew.objects.filter(supervisor=user)
