"""Six digits where one signs in, and twice where one sets them; the password before."""

from typing import Any

from django import forms
from django.contrib.auth import authenticate
from django.contrib.auth.forms import PasswordChangeForm
from django.http import HttpRequest
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews import pins, starting
from crews.models import Device, User

DIGITS = {
    "inputmode": "numeric",
    "pattern": "[0-9]{6}",
    "maxlength": pins.LENGTH,
    "autocomplete": "off",
    "class": "pin",
}


def pin_field(label: Any, help_text: Any = "") -> forms.CharField:
    return forms.CharField(label=label, help_text=help_text, widget=forms.PasswordInput(attrs=DIGITS))


class PinInForm(forms.Form):
    who = forms.CharField(
        label=gettext_lazy("Username"),
        max_length=150,
        widget=forms.TextInput(
            attrs={"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false"}
        ),
    )
    pin = pin_field(gettext_lazy("PIN"))

    def __init__(self, *args: Any, request: HttpRequest, device: Device | None, **options: Any) -> None:
        super().__init__(*args, **options)
        self.request, self.device = request, device
        self.user: User | None = None

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if "who" in data and "pin" in data:
            self.user = authenticate(  # type: ignore[assignment]
                self.request, username=data["who"], pin=data["pin"], device=self.device
            )
            if self.user is None:
                raise forms.ValidationError(
                    _(
                        "That PIN does not fit. Try again, or sign in with your password: "
                        "PINs are set on one's own page."
                    )
                )
        return data


def asked_again(request: HttpRequest, password: str) -> None:
    """Through `authenticate`, so that tries are counted as where one signs in. Raises ValidationError."""
    if authenticate(request, username=request.user.get_username(), password=password) != request.user:
        raise forms.ValidationError(_("That is not your password."))


class OwnPasswordForm(PasswordChangeForm):
    def __init__(self, user: User, *args: Any, request: HttpRequest) -> None:
        super().__init__(user, *args)
        self.request = request

    def clean_old_password(self) -> str:
        asked_again(self.request, self.cleaned_data["old_password"])
        return ""

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if starting.is_due(self.user) and self.user.check_password(data.get("new_password2") or ""):
            self.add_error("new_password1", _("Choose another one: this one somebody else knows."))
        return data


class PasswordForm(forms.Form):
    """One's own password once more, before something about signing in is changed."""

    password = forms.CharField(
        label=gettext_lazy("Your password"),
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def __init__(self, *args: Any, request: HttpRequest, **options: Any) -> None:
        super().__init__(*args, **options)
        self.request = request

    def clean_password(self) -> str:
        asked_again(self.request, self.cleaned_data["password"])
        return ""


class CodeForm(forms.Form):
    code = forms.CharField(
        label=gettext_lazy("Code"),
        help_text=gettext_lazy("Six digits from your phone, or one of your recovery codes."),
        max_length=20,
        widget=forms.TextInput(
            attrs={
                "autocomplete": "one-time-code",
                "autocapitalize": "none",
                "spellcheck": "false",
                "class": "pin",
            }
        ),
    )


class SetPinForm(PasswordForm):
    pin = pin_field(gettext_lazy("New PIN"), gettext_lazy("Six digits; not a date of yours, nor 123456."))
    again = pin_field(gettext_lazy("Once more"))

    def clean_pin(self) -> str:
        if problem := pins.flaw(self.cleaned_data["pin"]):
            raise forms.ValidationError(problem)
        return str(self.cleaned_data["pin"])

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if "pin" in data and "again" in data and data["pin"] != data["again"]:
            self.add_error("again", _("The two are not the same."))
        return data
