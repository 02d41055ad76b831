"""What lies on the bench, and what else wants a mender's or an inspector's hand, read from the derived columns."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from django.db import connection

from equipment.models.book import Entry
from equipment.models.states import ItemState

IN_STORE = ("store", "bench")
ANYWHERE = (*IN_STORE, "picker", "crew", "orchard")
Shelf = tuple[str, str]

# The times in `due` are UTC in ISO 8601, so that they compare as text.
LOOKS = {
    "sqlite": """
SELECT json_extract(due.value, '$.name'), item.kind_id, COUNT(*)
FROM equipment_itemstate state JOIN equipment_item item ON item.id = state.item_id, json_each(state.due) due
WHERE state.place = 'store' AND json_extract(due.value, '$.what') = 'inspect'
  AND NOT json_extract(due.value, '$.holds') AND json_extract(due.value, '$.at') <= %s""",
    "postgresql": """
SELECT due.value ->> 'name', item.kind_id, COUNT(*)
FROM equipment_itemstate state JOIN equipment_item item ON item.id = state.item_id,
  jsonb_array_elements(state.due) due
WHERE state.place = 'store' AND due.value ->> 'what' = 'inspect'
  AND due.value ->> 'holds' = 'false' AND due.value ->> 'at' <= %s""",
}


@dataclass(frozen=True, slots=True)
class Narrowed:
    """Codes of a store and a kind; "" for all of them."""

    store: str = ""
    kind: str = ""

    def of(self, rows: Any) -> Any:
        rows = rows.filter(store=self.store) if self.store else rows
        return rows.filter(item__kind=self.kind) if self.kind else rows


@dataclass(frozen=True, slots=True)
class Falling:
    """One thing that falls due on an item: `what` is mend or inspect, `name` the fault or checklist, at `at` (UTC)."""

    tag: str
    store: str
    kind: str
    place: str
    what: str
    name: str
    at: datetime


def set_aside(narrowed: Narrowed) -> list[ItemState]:
    """The pieces with a fault that stops them, in a store, with their folds. One query."""
    rows = narrowed.of(ItemState.objects.filter(place="bench"))
    return list(rows.select_related("item__kind", "store").order_by("since", "tag"))


def falling(narrowed: Narrowed, until: datetime) -> list[Falling]:
    """Mends that fall due at any time, of pieces in a store or out; inspections that keep the piece here and are due by
    `until`, of pieces in a store. One query."""
    rows = narrowed.of(ItemState.objects.filter(place__in=ANYWHERE, holds_at__isnull=False))
    columns = rows.order_by("tag").values_list("tag", "store", "item__kind", "place", "due")
    return [
        Falling(tag, store, kind, place, due["what"], due["name"], at)
        for tag, store, kind, place, dues in columns
        for due, at in _times(dues)
        if due["what"] == "mend" or (_holding(due) and place in IN_STORE and at <= until)
    ]


def to_look_over(narrowed: Narrowed, at: datetime) -> Counter[Shelf]:
    """How many pieces in the store wait to be looked over, which keeps none of them here: by checklist and kind. One
    query, counted where the rows lie: before the first hand-out of a day that may be all of them."""
    limits, values = "", [at.astimezone(UTC).isoformat()]
    for column, code in (("state.store_id", narrowed.store), ("item.kind_id", narrowed.kind)):
        if code:
            limits += f" AND {column} = %s"
            values.append(code)
    with connection.cursor() as cursor:
        cursor.execute(LOOKS[connection.vendor] + limits + " GROUP BY 1, 2", values)
        return Counter({(name, kind): count for name, kind, count in cursor.fetchall()})


@dataclass(frozen=True, slots=True)
class Done:
    """What was done since a moment: so many of each verb, and the minutes that mending took."""

    counts: Mapping[str, int]
    minutes: int


def done(store: str, since: datetime) -> Done:
    """In the book of `store`, or of all where it is "", without what was taken back. One query."""
    verbs = ("mended", "released", "inspected", "written_off", "reversed")
    rows = Entry.objects.filter(verb__in=verbs, happened_at__gte=since)
    rows = rows.filter(store=store) if store else rows
    entries = list(rows.values_list("id", "verb", "detail"))
    undone = {detail["entry"] for _, verb, detail in entries if verb == "reversed"}
    kept = [(verb, detail) for key, verb, detail in entries if verb != "reversed" and str(key) not in undone]
    minutes = sum(int(detail["minutes"]) for verb, detail in kept if verb == "mended")
    return Done(Counter(verb for verb, _ in kept), minutes)


def _holding(due: Mapping[str, Any]) -> bool:
    return bool(due["what"] == "inspect" and due["holds"])


def _times(dues: Iterable[Mapping[str, Any]]) -> Iterable[tuple[Mapping[str, Any], datetime]]:
    return ((due, datetime.fromisoformat(due["at"])) for due in dues if due["at"])
