"""Tonight's plan for a day: need, what is fit, what to do about the difference, and what stays short.

Stores are planned each for itself: gear lies in one, and so does a bath. Everything is read in a number of queries that
does not grow; nothing is kept, for every scan changes it.
"""

from collections.abc import Mapping, Sequence
from datetime import date, datetime

from django.utils import timezone

from crews.models import Store
from equipment.models import rules
from equipment.models.gear import Kind
from equipment.models.planning.covering import planned
from equipment.models.planning.need import CrewNeed, first_light, needs
from equipment.models.planning.results import Evening
from equipment.models.planning.spares import by_book
from equipment.models.planning.supply import Morning, Piece, pieces
from equipment.models.planning.ways import Ways
from equipment.models.planning.work import Minutes, minutes
from equipment.models.washing import standing_in


def evening(day: date, at: datetime, store: str = "") -> Evening:
    """The plan for `day` as things stand at `at`, of `store` ("" for all). At most 19 queries; once a day four more."""
    kinds = {kind.pk: kind for kind in Kind.objects.all()}
    stores = list(Store.objects.filter(pk=store) if store else Store.objects.order_by("pk"))
    morning = Morning(max(at, first_light(day)), rules.rules_at(at), at >= first_light(day))
    asked = needs(day, kinds, by_book(at, morning.rules.version), store)
    over = day < timezone.localdate(at)
    reading = bool(asked) and not over
    there = _pieces(asked, kinds, morning, store) if reading else []
    work = minutes(at) if reading else Minutes({})
    baths = standing_in([each.pk for each in stores], at) if reading else []
    plans = [
        planned(
            each,
            [need for need in asked if need.crew.store_id == each.pk],
            [piece for piece in there if piece.store == each.pk],
            Ways(morning.rules, work, [bath for bath in baths if bath.state.store == each.pk]),
            kinds,
        )
        for each in stores
    ]
    return Evening(day, at, morning.at, over, kinds, plans)


def _pieces(
    asked: Sequence[CrewNeed], kinds: Mapping[str, Kind], morning: Morning, store: str
) -> list[Piece]:
    wanted = {each.gear.kind for need in asked for each in need.asked}
    tonight = {code for code, kind in kinds.items() if kind.comes_back == "tonight"}
    return pieces(morning, wanted, tonight, store)
