"""What is asked at a counter: which one it is, and who a new picker is."""

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews.models import Crew, Device, Picker, Store
from equipment.pages.counter.here import counters


class HereForm(forms.Form):
    """One of the counters there are, or a new one: a store and a name."""

    counter = forms.ModelChoiceField(
        label=gettext_lazy("This is"),
        queryset=Device.objects.none(),
        required=False,
        empty_label=gettext_lazy("a new counter"),
    )
    store = forms.ModelChoiceField(label=gettext_lazy("Store"), queryset=Store.objects.all(), required=False)
    name = forms.CharField(
        label=gettext_lazy("Name of the new counter"),
        help_text=gettext_lazy("What people call it, such as “left hatch”."),
        max_length=80,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        known: Any = self.fields["counter"]
        known.queryset = counters()
        known.label_from_instance = lambda counter: f"{counter.name}, {counter.store.name}"

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if not data.get("counter"):
            if not data.get("store"):
                self.add_error("store", _("Choose the store that this counter stands in."))
            if not data.get("name", "").strip():
                self.add_error("name", _("Give the counter a name."))
        return data

    def device(self) -> Device:
        """The counter chosen, or the new one."""
        data = self.cleaned_data
        return data["counter"] or Device.objects.create(
            kind=Device.Kind.COUNTER, store=data["store"], name=data["name"].strip()
        )


class NewPickerForm(forms.ModelForm):  # type: ignore[type-arg]
    crew = forms.ModelChoiceField(
        label=gettext_lazy("Crew"), queryset=Crew.objects.filter(active=True), empty_label=None
    )

    class Meta:
        model = Picker
        fields = ("name",)
        widgets = {"name": forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "words"})}
