"""Gear enters the book: one item or a numbered run of them."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from crews.models import NumberSeries
from equipment.actions.appeared import appeared
from equipment.actions.writing import Pen, new_id
from equipment.ledger import Draft
from equipment.models import Kind, Label

MOST_AT_ONCE = 5000
# What a piece is, beside its kind; the last four are on a ladder only.
OF_A_LADDER = ("material", "legs", "length_m", "rating_kg")
TRAITS = ("make", "size", "hand", "owner", "price", "supplier", "delivery", "bought_on", *OF_A_LADDER)
LADDER = "ladder"


@dataclass(frozen=True, slots=True)
class Run:
    """`count` pieces that are all alike. `traits` are the detail of `registered`, see TRAITS; `tag` is given only
    for a single piece that wears one already."""

    kind: Kind
    store: str
    count: int = 1
    traits: Mapping[str, Any] = field(default_factory=dict)
    tag: str = ""


def register(pen: Pen, runs: Iterable[Run], act: UUID | None = None) -> list[str]:
    """Record the runs as one act and return the tags, in order. Raises ValueError where a run is too long or a tag
    is in use."""
    act = act or new_id()
    drafts: list[Draft] = []
    for run in runs:
        drafts += _drafts(pen, run, act)
    outcomes = pen.record(drafts).outcomes
    if taken := [d.detail["tag"] for d, o in zip(drafts, outcomes, strict=True) if o.codes == ("malformed",)]:
        raise ValueError(f"In use already: {', '.join(taken)}. Nothing was registered.")
    tags = [draft.detail["tag"] for draft in drafts]
    appeared(tags)
    return tags


def _drafts(pen: Pen, run: Run, act: UUID) -> list[Draft]:
    if not 1 <= run.count <= MOST_AT_ONCE:
        raise ValueError(f"A run is 1 to {MOST_AT_ONCE} pieces long, not {run.count}.")
    tags = [run.tag] if run.tag else free_tags(run.kind, run.count)
    traits = {name: value for name, value in run.traits.items() if value not in ("", None)}
    return [
        pen.draft(
            "registered",
            store=run.store,
            act=act,
            detail={"kind": run.kind.pk, "store": run.store, "tag": tag, **traits},
        )
        for tag in tags
    ]


def free_tags(kind: Kind, count: int) -> list[str]:
    """The next codes of the kind's prefix that no label bears."""
    return NumberSeries.take(
        kind.prefix, count, lambda tags: Label.objects.filter(code__in=tags).values_list("code", flat=True)
    )
