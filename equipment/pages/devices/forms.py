"""What is asked about phones."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from crews.models import Device, Store
from equipment.pages.crews.fields import CODE, Plain


class PhoneForm(Plain):
    names = ("name",)

    class Meta:
        model = Device
        fields = ("name",)
        labels = {"name": _("What is this phone called?")}
        help_texts = {
            "name": _(
                "So that the office knows which one it is: what is written on its back, or whose it is."
            )
        }

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["name"].required = True


class NewCodeForm(forms.Form):
    store = forms.ModelChoiceField(
        Store.objects.all(),
        label=_("For the store"),
        empty_label=None,
        help_text=_("The phone takes along the crews of this store, and writes in its book."),
    )


class TypedCodeForm(forms.Form):
    code = forms.CharField(
        label=_("Code"),
        max_length=40,
        widget=forms.TextInput(attrs=CODE),
        help_text=_("The eight letters and figures beside the picture on the office's page."),
    )
