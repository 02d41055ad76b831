"""The checklists of the catalogue, as the book looks at them: which points failed, and by which day's kit."""

from collections.abc import Mapping
from datetime import datetime
from functools import cache
from typing import Any

from django.utils import timezone

from equipment import catalogue
from equipment.catalogue.shapes import Checklist
from equipment.domain import checklist
from equipment.models.kits import asked, plans_by_crew


@cache
def by_code() -> Mapping[str, Checklist]:
    return {each.code: each for each in catalogue.load().checklist}


@cache
def strengths() -> Mapping[str, float]:
    """The strength in per cent that each agent's product is taken to have where nobody said otherwise."""
    return {agent.code: agent.strength_pct for agent in catalogue.load().agent if agent.strength_pct}


def failed(code: str, answers: Mapping[str, Any], crew: str | None, at: datetime) -> dict[str, str]:
    """The points that failed, each with the fault that it opens. A crew's is held against the kit of its day."""
    points = by_code()[code].point if code in by_code() else ()
    kit: dict[str, int] = {}
    if crew and any(point.per_kit for point in points):
        plans = plans_by_crew(timezone.localdate(at), [crew]).get(crew, [])
        present = answers.get("present", 0)
        lines = asked(plans, int(present), "crew")
        kit = {line.kind: line.quantity for line in lines if line.need == "required"}
    return checklist.failed(points, answers, kit)
