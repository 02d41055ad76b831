"""What a person fills in at a stocktake."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews.models import Store
from equipment.domain.stocktake import SURPRISES
from equipment.domain.verbs.written_off import CIRCUMSTANCES
from equipment.models import Kind
from equipment.pages.item_forms import CODE


class KindsField(forms.ModelMultipleChoiceField):
    def label_from_instance(self, kind: Any) -> str:
        return _(kind.name_plural)


class BeginForm(forms.Form):
    store = forms.ModelChoiceField(Store.objects.all(), label=gettext_lazy("Store"), empty_label=None)
    kinds = KindsField(
        Kind.objects.none(),
        label=gettext_lazy("What is counted"),
        required=False,
        help_text=gettext_lazy("Nothing ticked: all kinds of gear."),
        widget=forms.CheckboxSelectMultiple,
    )

    def __init__(self, data: Any, store: Store | None) -> None:
        super().__init__(data, initial={"store": store.pk if store else None})
        known = Kind.objects.filter(items__isnull=False).distinct()
        self.fields["kinds"].queryset = known  # type: ignore[attr-defined]


class SaidForm(forms.Form):
    """What goes with a choice. Everything may be missing: the action says what it lacks."""

    who = forms.CharField(required=False, max_length=200)
    to = forms.CharField(required=False, max_length=20)
    circumstance = forms.ChoiceField(required=False, choices=list(CIRCUMSTANCES.items()))
    note = forms.CharField(required=False, max_length=500)
    kind = forms.CharField(required=False, max_length=30)
    tag = forms.CharField(required=False, max_length=200)


class EndForm(forms.Form):
    why_open = forms.CharField(
        label=gettext_lazy("Why does something stay open?"), max_length=500,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )  # fmt: skip


LISTS = ("surprises", "left", "settled", "elsewhere")
OF_LIST = {
    "surprises": SURPRISES,
    "left": ("left",),
    "settled": ("settled",),
    "elsewhere": ("elsewhere",),
}


class NarrowForm(forms.Form):
    q = forms.CharField(
        label=gettext_lazy("Part of the tag"),
        required=False,
        max_length=40,
        widget=forms.TextInput(attrs=CODE),
    )
    kind = forms.ModelChoiceField(
        Kind.objects.none(), label=gettext_lazy("Kind"), required=False, empty_label=""
    )

    def __init__(self, data: Any, kinds: Any) -> None:
        super().__init__(data)
        self.fields["kind"].queryset = Kind.objects.filter(pk__in=kinds)  # type: ignore[attr-defined]

    @property
    def asked(self) -> dict[str, Any]:
        self.is_valid()
        return {name: value for name, value in self.cleaned_data.items() if value}
