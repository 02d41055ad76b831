"""A crew's sheet: all that a phone needs to know of a crew for a day without a network.

It holds what the clocks, the kit and the gate are worked out from, and never what comes out of them: no countdown, no
"now", so that the same book gives the same sheet all day. It holds no name of any picker: badges and numbers only.
"""

from collections.abc import Collection
from datetime import date
from typing import Any

from django.conf import settings
from django.db.models import QuerySet
from django.utils import timezone

from crews import policy
from crews.models import Crew, User
from equipment.models import rules
from equipment.models.reading import own_crews
from equipment.models.sheet import crew as of_crew
from equipment.models.sheet import gear, trade

VERSION = 1


def readable(user: User) -> QuerySet[Crew]:
    """The crews whose sheets this person may have: a supervisor those of their stores, because they may take one of
    them over; everybody else all of them."""
    rows = Crew.objects.filter(active=True)
    if not policy.only_own_crews(user):
        return rows
    stores = {user.store_id, *own_crews(user).values_list("store", flat=True)}
    return rows.filter(store__in=stores - {None})


def sheet(crew: Crew, own: Collection[str], day: date) -> dict[str, Any]:
    """Plain values (times and ids as such), in a fixed number of queries however large the crew is:

    `crew` and `crews` (`own`: among those given, that the asker leads), `state` (the crew's fold) and `members`;
    `other_pickers` of the store's other crews; `stood_in`, the kit lines that today's hand-outs stood in for; `items`
    with their folds, `other_visits` {crew: visits} that their clocks run by beside the crew's own, `baths`; `plans`
    and `blocks`; and what the trade and the farm's rules say, see `trade`.
    """
    in_force = rules.rules_at(timezone.now())
    team = of_crew.team(crew)
    held = gear.carried_by(crew, team.members, day, in_force)
    return {
        "v": VERSION,
        "day": day,
        "time_zone": settings.FARM_TIME_ZONE,
        "store": crew.store_id,
        **of_crew.shown(crew, own, team, held.own_visits),
        "stood_in": of_crew.stood_in(team.members, day),
        "plans": of_crew.plans(crew, day),
        "blocks": of_crew.blocks(),
        "items": held.items,
        "other_visits": held.other_visits,
        "baths": gear.baths(crew.store_id, day),
        **trade.told(in_force),
    }
