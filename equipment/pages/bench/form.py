"""What narrows the bench, and the field that takes scans."""

from typing import Any

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext_lazy

from crews.models import Store, User
from equipment.models import Kind
from equipment.models.bench import Narrowed

OPEN, GOOD = "open", "good"
KEPT = ("store", "kind", "scan")


class NarrowForm(forms.Form):
    """The person's own store to begin with; an empty one is all of them."""

    store = forms.ModelChoiceField(
        Store.objects.all(),
        label=gettext_lazy("Store"),
        required=False,
        empty_label=gettext_lazy("all stores"),
    )
    kind = forms.ModelChoiceField(
        Kind.objects.all(), label=gettext_lazy("Kind"), required=False, empty_label=gettext_lazy("all kinds")
    )

    def __init__(self, data: QueryDict, user: User) -> None:
        asked = data.copy()
        if "store" not in asked:
            asked["store"] = user.store_id or ""
        super().__init__(asked)

    def narrowed(self) -> Narrowed:
        """What cannot be understood narrows nothing: the form says so beside it."""
        self.is_valid()
        return Narrowed(*(getattr(self.cleaned_data.get(name), "pk", "") for name in ("store", "kind")))


class ScanForm(forms.Form):
    """`code` as it was scanned or typed; `scan` says what a scan does; `piece` is the one that lies open."""

    code = forms.CharField(
        label=gettext_lazy("Scan or type a tag"),
        max_length=300,
        error_messages={"required": gettext_lazy("Scan or type a tag first.")},
        widget=forms.TextInput(
            attrs={
                "class": "code",
                "autocomplete": "off",
                "autocapitalize": "characters",
                "spellcheck": "false",
            }
        ),
    )
    scan = forms.ChoiceField(
        label=gettext_lazy("A scan"),
        choices=[
            (OPEN, gettext_lazy("opens the piece")),
            (GOOD, gettext_lazy("says: looked over, all good")),
        ],
        widget=forms.RadioSelect,
        initial=OPEN,
    )
    piece = forms.CharField(max_length=20, required=False, widget=forms.HiddenInput)
    keep = forms.CharField(max_length=200, required=False, widget=forms.HiddenInput)


def kept(query: str, **changed: Any) -> str:
    """The part of a query that the bench keeps from page to page, with changes; nothing else gets through."""
    asked = QueryDict(query)
    said = QueryDict(mutable=True)
    for name in KEPT:
        value = changed.pop(name, asked.get(name))
        if value is not None and len(str(value)) <= 40:
            said[name] = str(value)
    for name, value in changed.items():
        if value:
            said[name] = str(value)
    return said.urlencode()
