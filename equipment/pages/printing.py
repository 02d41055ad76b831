"""What every page that makes a PDF shares: sheet layouts to choose from, places already used, the answer itself."""

from typing import Any

from django import forms
from django.http import HttpResponse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from equipment.documents.labels import Start


def pdf(content: bytes, name: str) -> HttpResponse:
    """A PDF that the browser shows; `name` is what it is saved as."""
    return HttpResponse(
        content,
        content_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{name}.pdf"', "Cache-Control": "no-store"},
    )


class PlaceForm(forms.Form):
    """Where to start on a sheet that was used before, and which places to skip."""

    start = forms.IntegerField(label=gettext_lazy("Start at place"), min_value=1, initial=1, required=False)
    used = forms.CharField(
        label=gettext_lazy("Places already used"),
        required=False,
        help_text=gettext_lazy("Numbers or ranges on the first sheet, such as 3, 7-9."),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def clean_used(self) -> frozenset[int]:
        places: set[int] = set()
        for part in self.cleaned_data["used"].replace(",", " ").split():
            first, _dash, last = part.partition("-")
            if not first.isdigit() or not (last or first).isdigit() or len(part) > 9:
                raise forms.ValidationError(
                    _("“%(part)s” is no place. Write 3 or 7-9.") % {"part": part[:20]}
                )
            places |= set(range(int(first), min(int(last or first), 1000) + 1))
        return frozenset(places)

    def place(self) -> Start:
        data: dict[str, Any] = self.cleaned_data
        return Start(data.get("start") or 1, data.get("used") or frozenset())
