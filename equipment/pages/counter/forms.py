"""What is asked at a counter: which one it is, who a new picker is, and why something goes out all the same."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy

from crews.models import Crew, Device, Picker, Store
from equipment.pages.counter.here import counters


class KnownCounterForm(forms.Form):
    """One of the counters there are."""

    counter = forms.ModelChoiceField(
        label=gettext_lazy("This is"), queryset=Device.objects.none(), empty_label=None
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        known: Any = self.fields["counter"]
        known.queryset = counters()
        known.label_from_instance = lambda counter: f"{counter.name}, {counter.store.name}"

    def device(self) -> Device:
        return self.cleaned_data["counter"]


class NewCounterForm(forms.Form):
    """A counter that has no row yet: its store and what people call it."""

    store = forms.ModelChoiceField(
        label=gettext_lazy("Store"),
        queryset=Store.objects.all(),
        empty_label=None,
        error_messages={"required": gettext_lazy("Choose the store that this counter stands in.")},
    )
    name = forms.CharField(
        label=gettext_lazy("Name"),
        help_text=gettext_lazy("What people call it, such as “left hatch”."),
        max_length=80,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        error_messages={"required": gettext_lazy("Give the counter a name.")},
    )

    def device(self) -> Device:
        data = self.cleaned_data
        return Device.objects.create(kind=Device.Kind.COUNTER, store=data["store"], name=data["name"])


class NewPickerForm(forms.ModelForm):  # type: ignore[type-arg]
    crew = forms.ModelChoiceField(
        label=gettext_lazy("Crew"), queryset=Crew.objects.filter(active=True), empty_label=None
    )

    class Meta:
        model = Picker
        fields = ("name",)
        widgets = {"name": forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "words"})}


class LetGoForm(forms.Form):
    why = forms.CharField(
        label=gettext_lazy("Why"),
        max_length=500,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
