"""On one's own page: another password, which signs one out everywhere else, and a PIN."""

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_post_parameters

from crews import pins, sessions, starting
from crews.models import Pin, User
from equipment.pages.signing_in.forms import OwnPasswordForm, SetPinForm


@sensitive_post_parameters()
def my_password(request: HttpRequest) -> HttpResponse:
    user = User.objects.get(pk=request.user.pk)
    begins = starting.is_due(user)
    form = OwnPasswordForm(user, request.POST or None, request=request)
    if request.method == "POST" and form.is_valid():
        form.save()
        sessions.go_on(request, user, update_session_auth_hash)
        messages.success(request, _("Your password is changed. You are signed out everywhere else."))
        return redirect("board" if begins else "me")
    context = {"form": form, "begins": begins}
    return render(request, "me_password.html", context, status=400 if form.errors else 200)


@sensitive_post_parameters()
def my_pin(request: HttpRequest) -> HttpResponse:
    """Set, changed or, with `forget`, taken away."""
    if not pins.may_have(request.user):  # type: ignore[arg-type]
        raise PermissionDenied
    if "forget" in request.POST:
        Pin.objects.filter(user=request.user.pk).delete()
        messages.success(request, _("Your PIN is forgotten."))
        return redirect("me")
    form = SetPinForm(request.POST or None, request=request)
    if request.method == "POST" and form.is_valid():
        pins.set_pin(request.user, form.cleaned_data["pin"], timezone.now())  # type: ignore[arg-type]
        messages.success(request, _("Your PIN is set. It opens counters and phones of the farm."))
        return redirect("me")
    known = Pin.objects.filter(user=request.user.pk).first()
    return render(request, "me_pin.html", {"form": form, "known": known}, status=400 if form.errors else 200)
