"""Answers to a checklist: which are missing, which cannot be, and which points failed."""

from collections.abc import Collection, Iterable, Mapping
from typing import Any, Protocol

from equipment.domain.words import gettext_noop


class Point(Protocol):
    """What of a checklist's point is looked at here; see `equipment.catalogue.shapes`."""

    code: str
    answer: str
    good: tuple[str, ...]
    choices: tuple[str, ...]
    low: float | None
    high: float | None
    per_kit: str | None
    crops: tuple[str, ...]
    fault: str | None


class BadAnswer(ValueError):
    """`message` is a gettext template, `params` fill it."""

    def __init__(self, message: str, **params: Any) -> None:
        self.message, self.params = message, params
        super().__init__(message % params)


def asked(points: Iterable[Point], crops: Collection[str]) -> list[Point]:
    """The points that are asked where these crops are picked."""
    return [point for point in points if not point.crops or set(point.crops) & set(crops)]


def check(points: Iterable[Point], answers: Mapping[str, Any], crops: Collection[str] | None = None) -> None:
    """Every point that is asked has an answer of its kind, and nothing else has. `crops` None: not known, so a point
    that belongs to a crop may be answered or not. Raises BadAnswer."""
    points = list(points)
    known = {point.code for point in points}
    wanted = asked(points, crops if crops is not None else ())
    if stray := sorted(set(answers) - known):
        raise BadAnswer(gettext_noop("There is no point “%(points)s”."), points=", ".join(stray)[:100])
    if missing := [point.code for point in wanted if answers.get(point.code) in (None, "")]:
        raise BadAnswer(gettext_noop("Not answered yet: %(points)s."), points=", ".join(missing))
    for point in points:
        if point.code in answers and not _can_be(point, answers[point.code]):
            raise BadAnswer(
                gettext_noop("“%(given)s” is no answer to the point “%(point)s”."),
                given=str(answers[point.code])[:40],
                point=point.code,
            )


def failed(
    points: Iterable[Point], answers: Mapping[str, Any], kit: Mapping[str, int] | None = None
) -> dict[str, str]:
    """The points whose answer is not good, each with the fault that it opens ("" for none). `kit` says how many pieces
    of a kind the day's kit asks for."""
    return {
        point.code: point.fault or ""
        for point in points
        if point.code in answers and not _is_good(point, answers[point.code], kit or {})
    }


def _can_be(point: Point, answer: Any) -> bool:
    if point.answer == "number":
        return isinstance(answer, int | float) and not isinstance(answer, bool)
    offered = ("yes", "no") if point.answer == "yes_no" else point.choices
    return _word(answer) in offered


def _is_good(point: Point, answer: Any, kit: Mapping[str, int]) -> bool:
    if point.answer != "number":
        return _word(answer) in point.good
    low = kit.get(point.per_kit, 0) if point.per_kit else point.low
    return (low is None or answer >= low) and (point.high is None or answer <= point.high)


def _word(answer: Any) -> str:
    if isinstance(answer, bool):
        return "yes" if answer else "no"
    return str(answer)
