"""The states of the gear follow the rules: at once where one is set for now, later where it was set for a later day."""

from collections.abc import Iterable
from datetime import UTC, datetime

from django.db.models import DateTimeField, F, Subquery, Value
from django.db.models.functions import Coalesce

from equipment.actions.rederive import rederive
from equipment.catalogue.rules import touched
from equipment.models import FollowedRules, Rule, rules

BEGINNING = datetime(1970, 1, 1, tzinfo=UTC)


def follow(rows: Iterable[Rule], at: datetime) -> None:
    """Let the gear follow new versions that have begun. After they are committed: it is done a part at a time, and
    counters go on in between."""
    known = rules.subjects_known()
    begun = [row.subject for row in rows if row.from_at <= at]
    kinds = [touched(known[subject]) for subject in begun if subject in known]
    if None in kinds:
        rederive(at)
    elif some := {kind for several in kinds for kind in several or ()}:
        rederive(at, some)


def catch_up(at: datetime) -> bool:
    """Let the gear follow versions that were set ahead and have begun since this was last asked. Pages that list what
    is due ask it first, and so does the daily reminder; the gate itself needs it not. Whether there were any."""
    followed = Coalesce(
        Subquery(FollowedRules.objects.values("at")[:1]), Value(BEGINNING, output_field=DateTimeField())
    )
    ahead = Rule.objects.filter(recorded_at__lt=F("from_at"), from_at__lte=at, from_at__gt=followed)
    rows = list(ahead)
    if rows:
        follow(rows, at)
        FollowedRules.objects.update_or_create(pk=1, defaults={"at": at})
    return bool(rows)
