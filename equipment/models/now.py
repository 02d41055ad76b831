"""Where the crews are at this moment, whose morning check is lacking, which baths want a hand."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db.models import Exists, OuterRef, Q, Subquery
from django.utils import timezone

from crews import policy
from crews.models import Crew, DayPlan, User
from equipment.domain import bath
from equipment.domain.visits import LONGEST_UNTOLD
from equipment.models.projections import folded_bath
from equipment.models.reading import own_crews
from equipment.models.states import BathState, Visit

EXPIRING = timedelta(minutes=30)


@dataclass(frozen=True, slots=True)
class CrewNow:
    """`block` is where it is on a visit now, None where on none; `unchecked`: it picks today, and its morning check is
    not written down."""

    name: str
    block: str | None
    unchecked: bool


def crews_now(user: User | None, day: date, at: datetime) -> dict[str, CrewNow]:
    """The crews that this person sees (None sees all), by code, in order of their names. A visit that nobody ended is
    over after a day's work. One query."""
    rows = own_crews(user) if user is not None and policy.only_own_crews(user) else Crew.objects.all()
    plans = DayPlan.objects.filter(crew=OuterRef("pk"), date=day)
    picking = plans.exclude(state__in=(DayPlan.State.CANCELLED, DayPlan.State.STOPPED))
    visits = Visit.objects.filter(crew=OuterRef("pk"), until=None, at__gt=at - LONGEST_UNTOLD).order_by("-at")
    rows = rows.annotate(picks=Exists(picking), here=Subquery(visits.values("block")[:1])).order_by("name")
    columns = "pk", "name", "here", "active", "picks", "state__fold__state__checked_at"
    return {
        code: CrewNow(name, block, active and picks and not _on(checked, day))
        for code, name, block, active, picks, checked in rows.values_list(*columns)
    }


@dataclass(frozen=True, slots=True)
class BathNow:
    """A bath that wants a hand: `flaw` says why no dip in it counts, see `domain.bath.WORDS`; "" where it only ends
    soon."""

    bath: UUID
    recipe: str
    store: str | None
    flaw: str
    good_until: datetime | None


def baths_now(user: User | None, at: datetime) -> list[BathNow]:
    """Baths that stand mixed and are no good, or will not be in half an hour; of those that grew too old longer ago
    than a day's work nothing is said. One query."""
    rows = BathState.objects.filter(mixed_at__isnull=False, emptied_at=None)
    rows = rows.filter(Q(good_until=None) | Q(good_until__gte=at - LONGEST_UNTOLD))
    if user is not None and policy.only_own_crews(user):
        rows = rows.filter(store__in=own_crews(user).values("store"))
    found = []
    for row in rows.order_by("good_until", "mixed_at"):
        flaw = bath.against_dip(folded_bath(row).state, at, 1) or ""
        if flaw or (row.good_until and row.good_until <= at + EXPIRING):
            found.append(BathNow(row.bath, row.recipe, row.store_id, flaw, row.good_until))
    return found


def _on(stamp: str | None, day: date) -> bool:
    return stamp is not None and timezone.localdate(datetime.fromisoformat(stamp)) == day
