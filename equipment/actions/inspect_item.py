"""An item's checklist is answered, point by point or by one "all good"."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from equipment.actions import sensible
from equipment.actions.writing import Pen
from equipment.ledger import Outcome
from equipment.models import ItemState, checklists


def inspect_item(
    pen: Pen,
    state: ItemState,
    checklist: str,
    answers: Mapping[str, Any],
    expiries: Mapping[str, date] | None = None,
    note: str = "",
) -> Outcome:
    """Raises sensible.Senseless where a point is missing, or has an answer that it cannot have."""
    detail: dict[str, Any] = {"checklist": checklist, "answers": dict(answers)}
    sensible.check("inspected", detail, state.item.kind_id)
    if expiries:
        detail["expiries"] = {name: day.isoformat() for name, day in expiries.items()}
    draft = pen.draft("inspected", item=state.item_id, crew=state.crew_id, detail=detail, note=note)
    return pen.record([draft]).outcomes[0]


def all_good(checklist: str) -> dict[str, Any]:
    """The good answer to every point of a checklist that asks for yes or no. Raises ValueError where a point asks for
    a figure or a choice: that must be looked at."""
    points = checklists.by_code()[checklist].point
    if any(point.answer != "yes_no" for point in points):
        raise ValueError(f"{checklist} asks for more than yes or no")
    return {point.code: point.good[0] for point in points}
