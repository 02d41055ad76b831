"""The crew's morning check as a form, and what came of it: counts, never names."""

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import lru_cache
from typing import Any

from django import forms
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews.models import DayPlan
from equipment.actions import names
from equipment.catalogue.shapes import Point
from equipment.domain import checklist
from equipment.domain.kit import PlanFacts
from equipment.domain.sealing import MORNING
from equipment.models import Entry
from equipment.models.checklists import by_code
from equipment.models.kits import NO_PLAN, facts, together
from equipment.pages.crews.visit_forms import WhenForm

PEOPLE, MOST_PEOPLE = "people", 500
PRESENT = "present"
# What a number can be at all, by its unit; beyond that it was mistyped.
POSSIBLE = {"°C": (-20, 60), "%": (0, 100), "days": (0, 400)}
CAUTIONS = {
    "open_wounds": gettext_lazy(
        "Wounds: wash hands, wear gloves to help, clean the wound and cover it with a blue plaster before anybody "
        "touches fruit or gear. One that goes on bleeding, gapes or is dirty goes to the first-aider."
    ),
    "temperature": gettext_lazy(
        "Heat: shade, breaks, and a cup of cool water every 15 to 20 minutes (NIOSH). Whoever is dizzy, sick or "
        "confused is brought into the shade and cooled, and help is called at once. The farm's own rules and the law "
        "come first."
    ),
}


class NumberField(forms.FloatField):
    """A comma is a point here."""

    widget = forms.TextInput

    def to_python(self, value: Any) -> Any:
        return super().to_python(value.replace(",", ".") if isinstance(value, str) else value)


class MorningForm(WhenForm):
    """The points that are asked where `plans` have the crew pick; `members` is how many are in it."""

    def __init__(self, data: Any, now: datetime, plans: Sequence[DayPlan], members: int) -> None:
        super().__init__(data, "morning", now)
        when = self.fields.pop("time")
        when.label = _("When, if not now")
        when.help_text = ""
        del self.fields["day"]
        crops = {plan.block.crop.lower() for plan in plans}
        self.points: list[Point] = checklist.asked(by_code()[MORNING].point, crops)  # type: ignore[assignment]
        for point in self.points:
            self.fields[point.code] = _field(point)
            if point.per_kit:
                self.fields[point.code].help_text = _asked_for(point.per_kit, plans, self._here(members))
        self.fields["time"] = when

    def _here(self, members: int) -> int:
        given = str(self.data.get(PRESENT, "")) if self.is_bound else ""
        return int(given) if given.isdecimal() and int(given) <= MOST_PEOPLE else members

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        here = data.get(PRESENT)
        for point in self.points:
            count = data.get(point.code)
            if point.unit == PEOPLE and here is not None and count is not None and count > here:
                self.add_error(point.code, _("That is more than are here."))
        return data

    @property
    def answers(self) -> dict[str, Any]:
        return {point.code: _plain(self.cleaned_data[point.code]) for point in self.points}

    @property
    def unanswered(self) -> list[str]:
        """The points that have no answer, by what they ask."""
        lacking = (
            point
            for point in self.points
            if self.errors.get(point.code) and not self.data.get(point.code, "").strip()
        )
        return [_(point.ask) for point in lacking]


def _plain(answer: Any) -> Any:
    """A whole number as one."""
    return int(answer) if isinstance(answer, float) and answer.is_integer() else answer


def _field(point: Point) -> forms.Field:
    words: dict[str, Any] = {
        "label": _(point.ask),
        "help_text": limits(point),
        "error_messages": {"required": _("Not answered yet.")},
    }
    if point.answer == "yes_no":
        yes_no = [("yes", _("yes")), ("no", _("no"))]
        return forms.ChoiceField(choices=yes_no, widget=forms.RadioSelect, **words)
    if point.answer == "choice":
        return forms.ChoiceField(choices=[(each, _(each)) for each in point.choices], **words)
    words["error_messages"]["invalid"] = _("Write a number.")
    if point.unit in POSSIBLE:
        low, high = POSSIBLE[point.unit]
        field: forms.Field = NumberField(min_value=low, max_value=high, **words)
        mode = "decimal"
    else:
        low = 1 if point.code == PRESENT else 0
        field = forms.IntegerField(min_value=low, max_value=MOST_PEOPLE, widget=forms.TextInput, **words)
        mode = "numeric"
    field.widget.attrs.update({"inputmode": mode, "autocomplete": "off", "class": "count"})
    return field


def limits(point: Point) -> str:
    """What is in order, in words; "" where the question says it."""
    if point.answer != "number" or point.per_kit or point.code == PRESENT:
        return ""
    words = {
        "low": f"{point.low:g}" if point.low is not None else "",
        "unit": "" if point.unit == PEOPLE else point.unit,
    }
    words["high"] = f"{point.high:g}" if point.high is not None else ""
    if point.low is None:
        told = _("in order: at most %(high)s %(unit)s")
    elif point.high is None:
        told = _("in order: at least %(low)s %(unit)s")
    elif point.low == point.high:
        told = _("in order: %(low)s %(unit)s")
    else:
        told = _("in order: %(low)s to %(high)s %(unit)s")
    return (told % words).strip()


def _asked_for(kind: str, plans: Sequence[DayPlan], here: int) -> SafeString:
    """How many the kit asks for so many people, and all that the page needs to follow the count as it is typed."""
    steps, why = head_counts(kind, tuple(facts(plan, 0) for plan in plans) or (NO_PLAN,))
    words = _("for {here} here: {asked} asked")
    told = words.format(here=here, asked=next(asked for least, asked in reversed(steps) if least <= here))
    return format_html(
        '<span class="asked-for" data-module="head-count" data-words="{}" data-steps="{}" aria-live="polite">{}</span>'
        "<br>{}",
        words,
        json.dumps(steps),
        told,
        _(why),
    )


@lru_cache(maxsize=256)
def head_counts(kind: str, plans: tuple[PlanFacts, ...]) -> tuple[list[tuple[int, int]], str]:
    """From so many people on so many pieces of the kind are asked of the crew; and why. By the kit's rules."""
    steps, why = [(0, 0)], ""
    for here in range(1, MOST_PEOPLE + 1):
        lines = together([replace(plan, present=here) for plan in plans], "crew")
        line = next((line for line in lines if line.kind == kind), None)
        if line is not None and line.quantity != steps[-1][1]:
            steps.append((here, line.quantity))
        why = line.why if line else why
    return steps, why


@dataclass(frozen=True)
class Checked:
    """A morning check that was written down: what was not in order, each with its answer, and cautions for it."""

    entry: Entry
    failed: Sequence[tuple[str, str]]
    cautions: Sequence[Any]
    here: Any


def checked(entry: Entry) -> Checked:
    answers: Mapping[str, Any] = entry.detail["answers"]
    points = {point.code: point for point in by_code()[MORNING].point}
    failed = list(entry.detail.get("failed", ()))
    told = [(names.point(MORNING, code), _answer(points.get(code), answers.get(code))) for code in failed]
    return Checked(entry, told, cautions(failed), answers.get(PRESENT))


def cautions(codes: Iterable[str]) -> list[Any]:
    return [CAUTIONS[code] for code in codes if code in CAUTIONS]


def _answer(point: Point | None, answer: Any) -> str:
    """As it is told: a phone may send true for yes."""
    if isinstance(answer, bool) or answer in ("yes", "no"):
        return _("yes") if answer in ("yes", True) else _("no")
    return f"{answer} {point.unit}".strip() if point and point.unit != PEOPLE else str(answer)
