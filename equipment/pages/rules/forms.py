"""The form of one rule: what a farm can set of it, why, and from when."""

from collections.abc import Sequence
from contextlib import suppress
from datetime import datetime, timedelta
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from equipment.catalogue.settable import Setting
from equipment.domain.given import BadNumber
from equipment.models.rules import WHY_LENGTH
from equipment.pages.rules import saying

A_MINUTE = timedelta(minutes=1)


class ChangeForm(forms.Form):
    """`now` is what is set at present, `seen` the version that the person looks at, `defaults` the catalogue's."""

    why = forms.CharField(
        label=gettext_lazy("Why"),
        max_length=WHY_LENGTH,
        help_text=gettext_lazy("It stands in the history, for whoever asks later."),
        widget=forms.Textarea(attrs={"rows": 2, "autocomplete": "off"}),
    )
    from_at = forms.DateTimeField(
        label=gettext_lazy("From when"),
        required=False,
        help_text=gettext_lazy(
            "Empty: from now on. Never from earlier: what happened goes by the rule of its day."
        ),
        input_formats=["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S"],
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"),
    )
    seen = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(
        self, data: Any, settings: Sequence[Setting], now: dict[str, Any], defaults: dict[str, Any], seen: int
    ) -> None:
        plain = {name: f"{value:g}" if type(value) is float else value for name, value in now.items()}
        super().__init__(data, initial={**plain, "seen": seen})
        self.open = [setting for setting in settings if not setting.fixed]
        self.fixed = [setting for setting in settings if setting.fixed]
        self.now, self.newest = now, seen
        of_the_rule = {setting.name: _field(setting, now, defaults) for setting in self.open}
        self.fields = {**of_the_rule, **self.fields}

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        for setting in self.fixed:
            if setting.name in self.data:
                self.add_error(None, _(setting.fixed))
        if data.get("seen") != self.newest:
            self.add_error(
                None,
                _("Somebody has changed this rule meanwhile. Look at what it says now, and set it again."),
            )
        return data

    def changes(self) -> dict[str, Any]:
        """What differs from what is set at present; what cannot be understood as it was written."""
        found = {}
        for setting in self.open:
            given = self.cleaned_data.get(setting.name)
            with suppress(BadNumber):
                given = setting.checked(given)
            if given != self.now[setting.name]:
                found[setting.name] = given
        return found

    def from_when(self, at: datetime) -> datetime | None:
        """None for now: also where the minute that runs was chosen."""
        begins: datetime | None = self.cleaned_data.get("from_at")
        return None if begins is None or begins <= at < begins + A_MINUTE else begins

    def add_problems(self, problems: Any) -> None:
        for name, sentences in problems.items():
            for sentence in sentences:
                self.add_error(name if name in self.fields else None, sentence)


def _field(setting: Setting, now: dict[str, Any], defaults: dict[str, Any]) -> forms.Field:
    label = saying.label(setting)
    if setting.shape == "yes_no":
        return forms.BooleanField(label=label, required=False, help_text=_now(setting, now, defaults))
    if setting.shape == "choice":
        choices = [(code, _(words)) for code, words in setting.options.items()]
        return forms.ChoiceField(
            label=label, choices=choices, widget=forms.RadioSelect, help_text=_now(setting, now, defaults)
        )
    mode = "numeric" if setting.shape == "whole" else "decimal"
    return forms.CharField(
        label=label,
        required=not setting.optional,
        max_length=20,
        help_text=" ".join(
            filter(None, (_(setting.help) if setting.help else "", _now(setting, now, defaults)))
        ),
        widget=forms.TextInput(attrs={"inputmode": mode, "autocomplete": "off"}),
    )


def _now(setting: Setting, now: dict[str, Any], defaults: dict[str, Any]) -> str:
    """What it is at present and, where that is not the same, what the catalogue has."""
    words = {"now": saying.value(setting, now[setting.name])}
    if now[setting.name] == defaults[setting.name]:
        return _("Now: %(now)s.") % words
    return _("Now: %(now)s. The catalogue has: %(default)s.") % {
        **words,
        "default": saying.value(setting, defaults[setting.name]),
    }
