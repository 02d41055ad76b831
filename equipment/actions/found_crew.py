"""A new crew: its code, which is also its tag, is the next free one."""

from django.db import transaction

from crews.models import Crew, NumberSeries
from equipment.actions.appeared import appeared
from equipment.domain import codes


@transaction.atomic
def found_crew(crew: Crew) -> Crew:
    """Save a crew that has no code yet. Raises IntegrityError where its name is taken."""
    (crew.code,) = NumberSeries.take(
        codes.CREW, 1, lambda wanted: Crew.objects.filter(pk__in=wanted).values_list("pk", flat=True)
    )
    crew.save(force_insert=True)
    appeared([crew.code])
    return crew
