"""The list of gear against the entries that made it: what an item is, and the labels that find it."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from pydantic import ValidationError

from equipment.actions.register import TRAITS
from equipment.actions.verify_book.findings import Finding, line
from equipment.actions.verify_book.reading import read
from equipment.domain.verbs import VERBS
from equipment.models import Entry, Item, Label

AT_ONCE = 2_000


def gear_differs() -> Iterator[Finding]:
    """Items and labels that do not agree with their `registered` and `retagged` entries."""
    for keys in gear():
        yield from look(keys)


def gear(after: Any = None) -> Iterator[list[Any]]:
    """Every item's id, in order, some at once; those above `after`, where that is given."""
    rows = Item.objects.order_by("pk").values_list("pk", flat=True)
    while keys := list((rows if after is None else rows.filter(pk__gt=after))[:AT_ONCE]):
        yield keys
        after = keys[-1]


def look(keys: list[Any]) -> Iterator[Finding]:
    items, made = Item.objects.in_bulk(keys), {}
    labels: Mapping[Any, set[str]] = defaultdict(set)
    tags: Mapping[Any, set[str]] = defaultdict(set)
    for item, code in Label.objects.filter(item__in=keys).values_list("item", "code"):
        labels[item].add(code)
    for entry in _tagging(keys):
        tags[entry.item_id].add(str(entry.detail.get("tag")))
        if entry.verb == "registered":
            made[entry.item_id] = entry
    for key in keys:
        subject = f"{'/'.join(sorted(labels[key] or tags[key]))} ({key})"
        yield from _item(items.get(key), made.get(key), subject)
        if labels[key] != tags[key]:
            yield Finding(
                "labels_differ", {"subject": subject, "columns": ", ".join(sorted(labels[key] ^ tags[key]))}
            )


def _tagging(keys: Iterable[Any]) -> Iterator[Entry]:
    """The entries that gave these items their labels; those that cannot be read are named with their chain."""
    rows = Entry.objects.filter(item__in=keys, verb__in=("registered", "retagged")).order_by(
        "store", "position"
    )
    for row in read(rows):
        if isinstance(row, Entry) and isinstance(row.detail, dict):
            yield row


def _item(item: Item | None, made: Entry | None, subject: str) -> Iterator[Finding]:
    if item is None:
        return
    if made is None:
        yield Finding("item_unregistered", {"subject": subject})
    elif differ := _differ(item, made):
        where = line(made.store_id, made.position, made.pk, made.verb)
        yield Finding("item_differs", {"subject": subject, "line": where, "columns": ", ".join(differ)})


def _differ(item: Item, made: Entry) -> list[str]:
    try:
        detail = VERBS["registered"].detail.model_validate(made.detail)
    except ValidationError:
        return ["detail"]
    wanted = {name: getattr(detail, name) for name in TRAITS} | {"kind_id": getattr(detail, "kind", "")}
    return [name.removesuffix("_id") for name, value in wanted.items() if getattr(item, name) != value]
