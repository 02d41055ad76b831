"""The manager's page of one user: a new one, another name, other work, another store, a starting password."""

import logging
from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.auth.models import Group
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from crews import policy, starting
from crews.models import User
from equipment.pages.crews.fields import Plain
from equipment.pages.me import EMAIL, language_field
from equipment.pages.signing_in.people import within_reach

logger = logging.getLogger("shedbook.people")
USERNAME = {"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}


class PersonForm(Plain):
    """Who somebody is and what their work is. `by` is who writes it down."""

    names = ("first_name", "last_name")
    roles = forms.MultipleChoiceField(
        label=gettext_lazy("Work"),
        widget=forms.CheckboxSelectMultiple,
        error_messages={"required": gettext_lazy("Say what their work is: without any they see nothing.")},
    )

    class Meta:
        model = User
        fields = ("first_name", "last_name", "roles", "store", "email", "language")
        labels = {
            "first_name": gettext_lazy("First name"),
            "last_name": gettext_lazy("Last name"),
            "store": gettext_lazy("Store"),
            "email": gettext_lazy("Mail address"),
        }
        widgets = {"email": forms.EmailInput(attrs=EMAIL)}

    def __init__(self, *args: Any, by: User, **options: Any) -> None:
        super().__init__(*args, **options)
        self.by = by
        self.fields["roles"].choices = [(role, _(role)) for role in policy.ROLES]  # type: ignore[attr-defined]
        self.fields["roles"].initial = sorted(self.instance.roles) if self.instance.pk else []
        self.fields["language"] = language_field()
        self.fields["store"].help_text = _(
            "Where a storeman stands and a mender's bench is. Empty: in all of them."
        )

    def clean_roles(self) -> list[str]:
        roles: list[str] = self.cleaned_data["roles"]
        if self.instance.pk == self.by.pk and policy.MANAGER in self.by.roles and policy.MANAGER not in roles:
            raise forms.ValidationError(_("Not oneself: another manager must take that from you."))
        return roles

    def save(self, commit: bool = True) -> User:
        user: User = super().save(commit)
        user.groups.set(Group.objects.filter(name__in=self.cleaned_data["roles"]))
        return user


class NewPersonForm(PersonForm):
    class Meta(PersonForm.Meta):
        fields = ("username", *PersonForm.Meta.fields)
        labels = {**PersonForm.Meta.labels, "username": gettext_lazy("Username")}
        widgets = {**PersonForm.Meta.widgets, "username": forms.TextInput(attrs=USERNAME)}
        help_texts = {"username": gettext_lazy("What they type to sign in; it never changes. Small letters.")}

    def clean_username(self) -> str:
        name: str = self.cleaned_data["username"].lower()
        if User.objects.filter(username__iexact=name).exists():
            raise forms.ValidationError(_("Somebody signs in as %(name)s already.") % {"name": name})
        return name

    def save(self, commit: bool = True) -> User:
        self.instance.set_unusable_password()
        return super().save(commit)


@never_cache
def new_user(request: HttpRequest) -> HttpResponse:
    form = NewPersonForm(request.POST or None, by=_by(request))
    if request.method == "POST" and form.is_valid():
        user = form.save()
        logger.info("%d made user %d", request.user.pk, user.pk)
        return _handed_over(request, user)
    return render(request, "user_new.html", {"form": form}, status=400 if form.errors else 200)


def user(request: HttpRequest, pk: int) -> HttpResponse:
    one = within_reach(request, pk)
    form = PersonForm(request.POST or None, instance=one, by=_by(request))
    if request.method == "POST" and form.is_valid():
        form.save()
        logger.info("%d changed user %d", request.user.pk, one.pk)
        messages.success(request, _("Written down."))
        return redirect("users")
    context = {"form": form, "one": one, "own": one.pk == request.user.pk}
    return render(request, "user.html", context, status=400 if form.errors else 200)


@never_cache
@require_POST
def starting_password(request: HttpRequest, pk: int) -> HttpResponse:
    one = within_reach(request, pk)
    if one.pk == request.user.pk:
        messages.error(request, _("Not oneself: you change your own password on your own page."))
        return redirect("user", pk)
    return _handed_over(request, one)


def _handed_over(request: HttpRequest, user: User) -> HttpResponse:
    """Shown once, in the answer itself: what is kept for a next page would be kept somewhere."""
    password = starting.give(user, timezone.now())
    logger.info("%d gave user %d a starting password", request.user.pk, user.pk)
    context = {"one": user, "password": password, "until": user.starting_until}
    return render(request, "user_password.html", context)


def _by(request: HttpRequest) -> User:
    return request.user  # type: ignore[return-value]
