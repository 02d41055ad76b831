"""A crew comes into a block, leaves it, stops picking; and answers its morning check."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from equipment.actions import sensible
from equipment.actions.writing import Pen
from equipment.ledger import Outcome


def arrive(pen: Pen, crew: str, block: str, at: datetime | None = None, note: str = "") -> Outcome:
    """At `at` (UTC), or now."""
    draft = pen.draft("arrived", crew=crew, block=block, happened_at=at, detail={"block": block}, note=note)
    return pen.record([draft]).outcomes[0]


def leave_block(pen: Pen, crew: str, at: datetime | None = None, note: str = "") -> Outcome:
    return pen.record([pen.draft("left", crew=crew, happened_at=at, note=note)]).outcomes[0]


def stop(pen: Pen, crew: str, cause: str, at: datetime | None = None, note: str = "") -> Outcome:
    draft = pen.draft("stopped", crew=crew, happened_at=at, detail={"cause": cause}, note=note)
    return pen.record([draft]).outcomes[0]


def check_morning(
    pen: Pen, crew: str, answers: Mapping[str, Any], at: datetime | None = None, note: str = ""
) -> Outcome:
    """Raises sensible.Senseless where a point is missing, or has an answer that it cannot have."""
    detail = {"answers": dict(answers)}
    sensible.check("morning_checked", detail, None)
    return pen.record(
        [pen.draft("morning_checked", crew=crew, happened_at=at, detail=detail, note=note)]
    ).outcomes[0]
