"""One's own page: who I am here, where I am mailed, and whether I am."""

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from crews import languages, pins, policy, second_factor
from crews.models import User

EMAIL = {"autocomplete": "email", "autocapitalize": "none", "spellcheck": "false"}


class MeForm(forms.ModelForm):
    """The safety officer is mailed anyhow; a supervisor who wants it."""

    class Meta:
        model = User
        fields = ("language", "email", "mailed")
        labels = {"email": gettext_lazy("Mail address")}
        widgets = {"email": forms.EmailInput(attrs=EMAIL)}

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.fields["language"] = language_field()
        self.fields["email"].help_text = _("The gear book mails nobody else, and shows it to nobody.")
        if policy.SUPERVISOR not in self.instance.roles:
            del self.fields["mailed"]

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if data.get("mailed") and not data.get("email") and "email" not in self.errors:
            self.add_error("email", _("Write down where to mail it."))
        return data


def language_field() -> forms.ChoiceField:
    return forms.ChoiceField(
        label=_("Language"),
        required=False,
        choices=[("", _("as this browser has it")), *languages.choices()],
        help_text=_("A draft has not been read yet by anybody who grew up with that language."),
    )


def me(request: HttpRequest) -> HttpResponse:
    form = MeForm(request.POST or None, instance=User.objects.get(pk=request.user.pk))
    if request.method == "POST" and form.is_valid():
        languages.speak_to(form.save(), request)
        messages.success(request, _("Written down."))
        return redirect("me")
    context = {
        "form": form,
        "may_pin": pins.may_have(request.user),
        "may_code": second_factor.may_have(request.user),
        "officer": policy.OFFICER in request.user.roles,
        "roles": [_(role) for role in policy.ROLES if role in request.user.roles],
        "led": request.user.crews.filter(active=True),
    }
    return render(request, "me.html", context, status=400 if form.errors else 200)
