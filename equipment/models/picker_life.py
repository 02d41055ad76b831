"""What pickers hold now, and what went through the hands of one of them lately."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime
from typing import Any

from crews.models import Crew, Picker
from equipment.models.book import Entry
from equipment.models.states import ItemState

ITEMS_LOOKED_AT = 30


def held_by(pickers: Iterable[Picker]) -> dict[int, list[ItemState]]:
    """The items that each of these pickers has, in the order of the catalogue. One query."""
    held: dict[int, list[ItemState]] = defaultdict(list)
    rows = ItemState.objects.filter(place="picker", picker__in=list(pickers)).select_related("item__kind")
    for state in rows.defer("fold").order_by("item__kind__position", "tag"):
        held[state.picker_id].append(state)  # type: ignore[index]
    return dict(held)


def lately(picker: Picker, most: int = 20) -> list[Entry]:
    """The last lines of the book about this picker, the newest first: handouts and what became of those items while
    they had them, and the crews they joined and left. Four queries, none of which reads the whole book."""
    handouts = Entry.objects.filter(verb="handed_out", picker=picker, item__isnull=False).order_by(
        "-happened_at"
    )
    last = list(handouts.values_list("item", "happened_at")[:ITEMS_LOOKED_AT])
    found: set[Any] = (
        _with(picker, {item for item, _at in last}, min(at for _item, at in last)) if last else set()
    )
    crews = list(Crew.objects.values_list("pk", flat=True))
    moves = Entry.objects.filter(crew__in=crews, item=None, lot=None, picker=picker).order_by("-happened_at")
    found |= set(moves.values_list("pk", flat=True)[:most])
    return list(
        Entry.objects.filter(pk__in=found)
        .select_related("by", "picker", "crew", "store", "block", "device", "written_note", "item__state")
        .order_by("-happened_at", "-id")[:most]
    )


def _with(picker: Picker, items: set[Any], since: datetime) -> set[Any]:
    """The entries of these items that happened while this picker had them; what takes one away is the last of them."""
    rows = Entry.objects.filter(item__in=items, happened_at__gte=since).order_by("happened_at", "id")
    holders: dict[Any, int | None] = {}
    found = set()
    for pk, item, verb, holder in rows.values_list("pk", "item", "verb", "picker"):
        if verb == "handed_out":
            holders[item] = holder
        if picker.pk in (holder, holders.get(item)):
            found.add(pk)
        if verb in ("returned", "stowed", "missed", "written_off"):
            holders[item] = None
    return found
