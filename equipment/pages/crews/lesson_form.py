"""A lesson as it is written down: what was shown, when, by whom, and who was there."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews.models import Picker, User
from crews.sorting import by_name
from equipment.actions.train import Lesson
from equipment.domain.verbs.trained import OUTSIDE, TOPICS
from equipment.pages.crews.fields import who
from equipment.pages.crews.visit_forms import CLOCK
from equipment.pages.once import OnceForm

# What is further back is taken from paper, and stays on it.
FURTHEST = timedelta(days=366)
WHOLE_DAY = 24 * 60


class LessonForm(OnceForm):
    """`members` are those who may have been there, all ticked at first; `own` is the act of the lesson's lines."""

    topic = forms.ChoiceField(
        label=gettext_lazy("What was shown"),
        choices=lambda: [(code, _(words)) for code, words in TOPICS.items()],
    )
    day = forms.DateField(
        label=gettext_lazy("Day"), widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    time = forms.TimeField(
        label=gettext_lazy("It began at"),
        widget=forms.TimeInput(attrs=CLOCK, format="%H:%M"),
        error_messages={"invalid": gettext_lazy("Write the time as 06:30.")},
    )
    minutes = forms.IntegerField(
        label=gettext_lazy("Minutes"),
        required=False,
        min_value=1,
        max_value=WHOLE_DAY,
        widget=forms.TextInput(attrs={"inputmode": "numeric", "autocomplete": "off", "class": "count"}),
    )
    trainer = forms.TypedChoiceField(label=gettext_lazy("Given by"), coerce=int)
    note = forms.CharField(
        label=gettext_lazy("Note"),
        required=False,
        max_length=2000,
        help_text=gettext_lazy("Of another lesson, what it was about; of somebody from outside, who it was."),
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    there = forms.TypedMultipleChoiceField(
        label=gettext_lazy("Who was there"),
        coerce=int,
        widget=forms.CheckboxSelectMultiple,
        help_text=gettext_lazy("Take the tick from those who were not. Each signs on the paper."),
        error_messages={"required": gettext_lazy("Tick those who were there.")},
    )

    def __init__(self, data: Any, members: Sequence[Picker], user: User, now: datetime) -> None:
        super().__init__(data, auto_id="lesson_%s")
        self.members, self.user, self.now = members, user, now
        local = timezone.localtime(now)
        self.initial |= {"day": local.date(), "time": local.time(), "trainer": user.pk}
        self.initial["there"] = [picker.pk for picker in members]
        self.fields["there"].choices = [(picker.pk, picker.name) for picker in members]  # type: ignore[attr-defined]
        self.fields["trainer"].choices = self._trainers()  # type: ignore[attr-defined]

    def _trainers(self) -> list[tuple[int, str]]:
        others = User.objects.filter(is_active=True).exclude(pk=self.user.pk)
        named = sorted(((user.pk, who(user)) for user in others), key=lambda pair: by_name(pair[1]))
        return [
            (self.user.pk, _("%(name)s (I)") % {"name": who(self.user)}),
            *named,
            (OUTSIDE, _("somebody from outside, named in the note")),
        ]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if data.get("day") and data.get("time"):
            data["at"] = timezone.make_aware(datetime.combine(data["day"], data["time"]))
            if data["at"] > self.now:
                self.add_error("time", _("That time is still to come. Write down what has happened."))
            elif data["at"] < self.now - FURTHEST:
                self.add_error("day", _("That is more than a year ago. Look at the day again."))
        if not data.get("note"):
            if data.get("topic") == "other":
                self.add_error("note", _("Say what the lesson was about."))
            elif data.get("trainer") == OUTSIDE:
                self.add_error("note", _("Say who gave it, and where they are from."))
        return data

    @property
    def lesson(self) -> Lesson:
        """What was told; the one who wrote it down need not be named as its trainer."""
        data = self.cleaned_data
        trainer = None if data["trainer"] == self.user.pk else data["trainer"]
        return Lesson(data["topic"], data["at"], trainer, data["minutes"], data["note"])

    @property
    def present(self) -> list[Picker]:
        there = set(self.cleaned_data["there"])
        return [picker for picker in self.members if picker.pk in there]
