"""Evening plans of the small farm for tests: the plan itself, one sort of it, what a piece wants."""

from datetime import timedelta
from typing import Any

from django.utils import timezone

from equipment.actions.clean import Way, clean
from equipment.domain.jobs import Gear
from equipment.models.planning import Evening, Sort, evening
from tests.cast import Farm
from tests.farm import Post
from tests.washing import pen, states


def plan(days: int = 1, **how: Any) -> Evening:
    now = timezone.now()
    return evening(timezone.localdate(now) + timedelta(days=days), now, **how)


def sort(found: Evening, kind: str, store: int = 0, **traits: str) -> Sort:
    (one,) = [each for each in found.stores[store].sorts if each.gear == Gear(kind, **traits)]
    return one


def steps(found: Evening, tag: str) -> list[str]:
    return [f"{step.what} {step.name}".strip() for step in found.tasks[tag].piece.steps]


def wipe(farm: Farm, *tags: str, ago: float = 5) -> None:
    way = Way("sterilise", recipe="clippers_alcohol", seconds=60)
    assert all(outcome.recorded for outcome in clean(pen(farm, ago), states(*tags), way))


def out_and_back(farm: Farm, post: Post, tag: str, who: str = "ana") -> None:
    given = {"item": tag, "picker": farm.badges[who]}
    post(farm.entry("handed_out", **given, at=timezone.now() - timedelta(minutes=2)), gate="note")
    post(farm.entry("returned", item=tag, at=timezone.now() - timedelta(minutes=1)), gate="note")
