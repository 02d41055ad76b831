"""What a counter must know when the line to the book is cut: cards and crews, contents of sets, holders."""

from collections import defaultdict
from datetime import date
from typing import Any

from crews.models import BadgeLoan, Crew, Picker
from equipment.models import ItemState, Membership


def sheet(day: date) -> dict[str, Any]:
    """As JSON, in five queries:

    `pickers` [id, number, name, crew code or "", badge or ""]; `cards` {badge: picker id}; `crews` {code: name};
    `sets` {code: tags}; `out` {tag: picker id, or the crew's code}.
    """
    cards = dict(BadgeLoan.objects.on(day).order_by("from_day", "id").values_list("badge", "picker"))
    card_of = {picker: badge for badge, picker in cards.items()}
    people = Picker.objects.annotate(crew=Membership.crew_of("pk"))
    return {
        "pickers": [
            [pk, number, name, crew or "", card_of.get(pk, "")]
            for pk, number, name, crew in people.values_list("pk", "number", "name", "crew")
            if crew or pk in card_of
        ],
        "cards": cards,
        "crews": dict(Crew.objects.filter(active=True).values_list("code", "name")),
        "sets": _sets(),
        "out": {
            tag: picker if picker else crew
            for tag, picker, crew in ItemState.objects.out().values_list("tag", "picker", "crew")
        },
    }


def _sets() -> dict[str, list[str]]:
    found: dict[str, list[str]] = defaultdict(list)
    for code, tag in (
        ItemState.objects.exclude(packed_in=None).order_by("tag").values_list("packed_in", "tag")
    ):
        found[code].append(tag)
    return dict(found)
