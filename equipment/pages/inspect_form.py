"""A checklist as a form: every point with its answers; of a first-aid kit, what belongs in it with its dates."""

import re
from datetime import date
from typing import Any

from django import forms
from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from equipment import catalogue
from equipment.catalogue.shapes import ContentsItem, Point
from equipment.models import Entry, checklists
from equipment.pages.item_forms import NoteForm

YES_NO = [("yes", gettext_lazy("yes")), ("no", gettext_lazy("no"))]


class Figure(forms.FloatField):
    """A number with a decimal point or a decimal comma."""

    widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"})

    def to_python(self, value: Any) -> float | None:
        if isinstance(value, str) and re.fullmatch(r"\s*-?\d+,\d+\s*", value):
            value = value.replace(",", ".")
        return super().to_python(value)


class InspectForm(NoteForm):
    checklist = forms.CharField(widget=forms.HiddenInput)

    def prepare(self) -> None:
        self.initial["checklist"] = self.asked.about
        self.points = checklists.by_code()[self.asked.about].point
        self.contents = contents_of(self.asked)
        note = self.fields.pop("note")
        for point in self.points:
            self.fields[f"point_{point.code}"] = _field(point)
        dates = last_expiries(self.asked) if self.contents else {}
        for number, each in enumerate(self.contents):
            self.fields[f"expiry_{number}"] = _expiry(each, dates.get(each.name))
        self.fields["note"] = note

    def clean(self) -> dict[str, Any]:
        said = super().clean() or self.cleaned_data
        said["answers"] = {
            point.code: said[f"point_{point.code}"] for point in self.points if f"point_{point.code}" in said
        }
        dated = ((each.name, said.get(f"expiry_{number}")) for number, each in enumerate(self.contents))
        said["expiries"] = {name: day for name, day in dated if day}
        return said


class AllGoodForm(NoteForm):
    """Nothing to fill in: one press, or one scan."""

    checklist = forms.CharField(widget=forms.HiddenInput)

    def prepare(self) -> None:
        self.initial["checklist"] = self.asked.about
        del self.fields["note"]


def _field(point: Point) -> forms.Field:
    unanswered = {"required": _("Not answered yet: %(point)s") % {"point": _(point.ask)}}
    if point.answer == "number":
        label = f"{_(point.ask)} ({point.unit})" if point.unit else _(point.ask)
        return Figure(label=label, help_text=limits(point), error_messages=unanswered)
    choices = YES_NO if point.answer == "yes_no" else [(choice, _(choice)) for choice in point.choices]
    return forms.ChoiceField(
        label=_(point.ask), choices=choices, widget=forms.RadioSelect, error_messages=unanswered
    )


def limits(point: Point) -> str:
    """From what to what a number passes, with its unit; "" where it has no limits of its own."""
    low, high = (
        f"{number_format(each)} {point.unit}".rstrip() if each is not None else None
        for each in (_short(point.low), _short(point.high))
    )
    if low and high:
        return _("Passes from %(low)s to %(high)s.") % {"low": low, "high": high}
    if low:
        return _("Passes from %(low)s.") % {"low": low}
    return _("Passes up to %(high)s.") % {"high": high} if high else ""


def _short(number: float | None) -> float | int | None:
    return int(number) if number is not None and number == int(number) else number


def _expiry(each: ContentsItem, known: date | None) -> forms.Field:
    return forms.DateField(
        label=_("%(quantity)d × %(what)s: date on it") % {"quantity": each.quantity, "what": _(each.name)},
        required=False,
        initial=known,
        widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
    )


def contents_of(asked: Any) -> tuple[ContentsItem, ...]:
    """What belongs in it by kind and class; nothing where that is not known."""
    item = asked.piece.row.item
    for each in catalogue.load().contents:
        if (each.kind, each.size) == (item.kind_id, item.size):
            return each.items
    return ()


def last_expiries(asked: Any) -> dict[str, date]:
    """The dates that the last inspection read, by what they are on. One query."""
    rows = Entry.objects.filter(item=asked.piece.row.item_id, verb="inspected").order_by(
        "-happened_at", "-id"
    )
    detail = rows.values_list("detail", flat=True).first() or {}
    return {name: date.fromisoformat(day) for name, day in detail.get("expiries", {}).items()}
