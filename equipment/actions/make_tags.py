"""Tags that are made before anything hangs on them: day cards and set tags."""

from crews.models import Badge, NumberSeries
from equipment.actions.lend_badge import new_codes
from equipment.domain import codes
from equipment.models import GearSet


def make_day_cards(count: int) -> list[str]:
    """New day cards, lent to nobody yet; their codes in order."""
    return [
        badge.pk
        for badge in Badge.objects.bulk_create(Badge(code=c, day_card=True) for c in new_codes(count))
    ]


def make_set_tags(count: int) -> list[str]:
    """New set tags with nothing packed in them; their codes in order."""
    free = NumberSeries.take(
        codes.SET, count, lambda taken: GearSet.objects.filter(pk__in=taken).values_list("pk", flat=True)
    )
    return [row.pk for row in GearSet.objects.bulk_create(GearSet(code=code) for code in free)]
