"""What a disease trace asks a person."""

from datetime import date, datetime, time, timedelta
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews.models import Block
from equipment.actions.trace.running import diseases
from equipment.catalogue.shapes import Disease
from equipment.domain.disease_trace import Question

DATE = {"type": "date", "autocomplete": "off"}
LATER, AT_ONCE = "later", "same"
TO_THE_END = ""
MOST_STEPS = 5


class TraceForm(forms.Form):
    """`question` is what to trace and `disease` of what, once the form is valid. `now` is when it is asked."""

    block = forms.ChoiceField(label=gettext_lazy("Block where it was found"))
    disease = forms.ChoiceField(label=gettext_lazy("Disease"))
    since = forms.DateField(
        label=gettext_lazy("Present since"),
        help_text=gettext_lazy(
            "The first day on which it may have been there: rather too early than too late."
        ),
        widget=forms.DateInput(attrs=DATE, format="%Y-%m-%d"),
    )
    until = forms.DateField(
        label=gettext_lazy("Follow it up to"),
        required=False,
        help_text=gettext_lazy("The last day. Empty: up to now."),
        widget=forms.DateInput(attrs=DATE, format="%Y-%m-%d"),
    )
    steps = forms.TypedChoiceField(
        label=gettext_lazy("How far"), required=False, coerce=int, empty_value=None
    )
    chaining = forms.ChoiceField(
        label=gettext_lazy("Passed on"),
        required=False,
        help_text=gettext_lazy("When in doubt: in the same moment too."),
        choices=[
            (LATER, gettext_lazy("later than it was reached")),
            (AT_ONCE, gettext_lazy("in the same moment too")),
        ],
    )

    def __init__(self, data: Any, now: datetime) -> None:
        super().__init__(data)
        self.now = now
        blocks = [
            (block.pk, f"{block.code} {block.name}".strip()) for block in Block.objects.order_by("code")
        ]
        self._choices("block", [("", _("Choose a block")), *blocks])
        known = [(each.code, _(each.name)) for each in diseases()]
        self._choices("disease", [("", _("Choose a disease")), *known])
        far = [(1, _("these pieces, and the blocks that they went to next"))]
        far += [(n, _("over %(n)d blocks in a row") % {"n": n}) for n in range(2, MOST_STEPS + 1)]
        self._choices("steps", [(TO_THE_END, _("to the end")), *far])

    def _choices(self, name: str, choices: list[tuple[Any, str]]) -> None:
        self.fields[name].choices = choices  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        today, since, until = timezone.localdate(self.now), data.get("since"), data.get("until")
        for name, day in (("since", since), ("until", until)):
            if day and day > today:
                self.add_error(name, _("That day is still to come. Give today or an earlier day."))
        if since and until and until < since:
            self.add_error("until", _("This is before the day since which it is present."))
        return data

    @property
    def disease_chosen(self) -> Disease:
        return next(each for each in diseases() if each.code == self.cleaned_data["disease"])

    @property
    def question(self) -> Question:
        data = self.cleaned_data
        until = min(_begins(data["until"] + timedelta(days=1)), self.now) if data["until"] else self.now
        strict = data["chaining"] != AT_ONCE
        return Question(data["block"], _begins(data["since"]), until, strict, data["steps"])


def _begins(day: date) -> datetime:
    """Midnight of that day on the farm's clock."""
    return timezone.make_aware(datetime.combine(day, time.min))
