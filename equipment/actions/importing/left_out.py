"""Whom a new season's list leaves out although the farm still counts on them."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping

from crews.models import Crew, Picker
from equipment.actions.importing.results import Missing
from equipment.models import ItemState


def left_out(
    pickers: Iterable[Picker], listed: Collection[str], in_crew: Mapping[int, str], crews: Mapping[str, Crew]
) -> list[Missing]:
    """Pickers whose number is not `listed` though they are in a crew or hold gear; those who hold gear first, then by
    crew and name."""
    held = defaultdict(list)
    for picker, tag in ItemState.objects.filter(place="picker").order_by("tag").values_list("picker", "tag"):
        held[picker].append(tag)
    found = [
        Missing(
            picker=picker.pk,
            number=picker.number,
            name=picker.name,
            crew=crews[in_crew[picker.pk]].name if picker.pk in in_crew else "",
            tags=tuple(held[picker.pk]),
        )
        for picker in pickers
        if picker.number not in listed and (picker.pk in in_crew or picker.pk in held)
    ]
    return sorted(found, key=lambda missing: (not missing.tags, missing.crew, missing.name))
