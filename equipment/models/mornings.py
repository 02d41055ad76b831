"""A crew's morning at the counter: who is served, who is still to come, who seems to be absent.

Nobody writes attendance down, so absence is read from the queue: half an hour after the crew's last handout of the
day those who were not served are taken to be absent, until they come.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Max

from crews.models import Crew, Picker
from equipment.models.book import Entry
from equipment.models.kits import PickerKit, bounds, kits
from equipment.models.states import Membership

ABSENT_AFTER = timedelta(minutes=30)


@dataclass(frozen=True, slots=True)
class Morning:
    """The crew's pickers by name, each in one of three groups; `last` is when it was last handed something."""

    crew: Crew
    served: Sequence[PickerKit]
    to_come: Sequence[PickerKit]
    absent: Sequence[PickerKit]
    last: datetime | None


def morning(crew: Crew, day: date, at: datetime) -> Morning:
    """The groups as of `at` (UTC). Served is who was handed something today, or holds a complete kit anyway."""
    members = Membership.objects.filter(crew=crew).current().values("picker")
    people = list(Picker.objects.filter(pk__in=members))
    handed = _handed_out(people, day)
    served, waiting = [], []
    for kit in kits(people, day):
        (served if kit.picker.pk in handed or (kit.lines and kit.complete) else waiting).append(kit)
    last = max(handed.values(), default=None)
    gone = last is not None and at - last >= ABSENT_AFTER
    return Morning(crew, served, [] if gone else waiting, waiting if gone else [], last)


def _handed_out(people: Sequence[Picker], day: date) -> dict[int, datetime]:
    """Picker -> when they were last handed something on `day`; what was undone does not count."""
    start, end = bounds(day)
    rows = Entry.objects.filter(
        verb="handed_out", picker__in=people, happened_at__gte=start, happened_at__lt=end
    )
    undone = Entry.objects.filter(verb="reversed", item__in=rows.values("item"), happened_at__gte=start)
    given = rows.exclude(pk__in=[detail["entry"] for detail in undone.values_list("detail", flat=True)])
    return dict(given.values_list("picker").annotate(last=Max("happened_at")).order_by())
