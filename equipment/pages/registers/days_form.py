"""From one day until another, as every form here asks for it, with the presets as links."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from equipment.pages.registers.days import Days

FIRST_YEAR, LAST_YEAR = 1970, 2199
DATE = {"type": "date"}


class DaysForm(forms.Form):
    first = forms.DateField(label=gettext_lazy("From"), widget=forms.DateInput(DATE, format="%Y-%m-%d"))
    last = forms.DateField(
        label=gettext_lazy("Until, that day included"), widget=forms.DateInput(DATE, format="%Y-%m-%d")
    )

    def clean_first(self) -> date:
        return _sensible(self.cleaned_data["first"])

    def clean_last(self) -> date:
        return _sensible(self.cleaned_data["last"])

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if data.get("first") and data.get("last") and data["last"] < data["first"]:
            self.add_error("last", _("The last day lies before the first. Change one of the two."))
        return data

    def query(self, **changed: str) -> str:
        """What was asked as part of an address, with `changed`."""
        said = QueryDict(mutable=True)
        for name in self.fields:
            if value := changed.get(name, self.data.get(name, "")):
                said[name] = value
        return said.urlencode()

    def links(self, days: Iterable[Days]) -> list[dict[str, Any]]:
        """The same question of other days: `words`, `query`, and whether it is the one asked now."""
        found = []
        for each in days:
            first, last = each.first.isoformat(), each.last.isoformat()
            current = (self.data.get("first"), self.data.get("last")) == (first, last)
            found.append(
                {"words": each.words, "query": self.query(first=first, last=last), "current": current}
            )
        return found


def _sensible(day: date) -> date:
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        words = {"first": FIRST_YEAR, "last": LAST_YEAR}
        raise forms.ValidationError(_("Choose a day of the years %(first)d to %(last)d.") % words)
    return day
