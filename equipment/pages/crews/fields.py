"""What the forms about people and places share."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from crews import policy
from crews.models import User
from equipment.actions.importing.cells import place_code, plain_text

NAME = {"autocomplete": "off", "autocapitalize": "words", "spellcheck": "false"}
CODE = {"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false", "class": "code"}


class Plain(forms.ModelForm):
    """A form whose texts are cleaned as those of an imported list are; `names` get the keyboard for names."""

    names: tuple[str, ...] = ()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in self.names:
            self.fields[name].widget.attrs.update(NAME)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        for name, value in data.items():
            if isinstance(value, str):
                try:
                    data[name] = plain_text(value)
                except ValueError as error:
                    self.add_error(name, str(error))
        return data


class PlaceCodeField(forms.CharField):
    """The code of a store or block, in capitals."""

    def __init__(self, **options: Any) -> None:
        super().__init__(max_length=20, widget=forms.TextInput(attrs=CODE), **options)

    def clean(self, value: Any) -> str:
        code = super().clean(value)
        try:
            return place_code(code)
        except ValueError as error:
            raise forms.ValidationError(str(error)) from None


class SupervisorField(forms.ModelChoiceField):
    """Those who may lead a crew."""

    def __init__(self, **options: Any) -> None:
        leaders = User.objects.filter(is_active=True, groups__name=policy.SUPERVISOR).order_by("username")
        super().__init__(queryset=leaders, required=False, empty_label=_("nobody yet"), **options)

    def label_from_instance(self, user: User) -> str:
        return who(user)


def who(user: User | None) -> str:
    return (user.get_full_name() or user.get_username()) if user else ""
