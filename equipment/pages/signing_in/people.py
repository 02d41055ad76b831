"""The manager's page: who signs in, where they are signed in now; ending that, and shutting somebody out."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db.models import Prefetch
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_GET, require_POST
from django_otp.plugins.otp_totp.models import TOTPDevice

from crews import policy, second_factor, sessions
from crews.models import SignIn, User


@require_GET
def users(request: HttpRequest) -> HttpResponse:
    now = SignIn.objects.filter(session__expire_date__gt=timezone.now()).select_related("device")
    rows = User.objects.select_related("store", "pin").order_by("last_name", "first_name", "username")
    confirmed = Prefetch("totpdevice_set", TOTPDevice.objects.filter(confirmed=True), "confirmed")
    rows = rows.prefetch_related("groups", confirmed, Prefetch("sign_ins", now.order_by("-begun_at"), "now"))
    return render(request, "users.html", {"people": [_row(user, request.user) for user in rows]})


def within_reach(request: HttpRequest, pk: int) -> User:
    """The user of that number: whoever may do all is in nobody's hands but those of their like. Raises Http404 and
    PermissionDenied."""
    user = get_object_or_404(User.objects.select_related("store"), pk=pk)
    if not _may_reach(request.user, user):
        raise PermissionDenied
    return user


def _may_reach(by: Any, user: User) -> bool:
    return by.is_superuser or not user.is_superuser


def _row(user: User, by: Any) -> dict[str, object]:
    roles = {group.name for group in user.groups.all()}
    return {
        "user": user,
        "name": user.get_full_name() or user.get_username(),
        "roles": ", ".join(_(role) for role in policy.ROLES if role in roles),
        "pin": hasattr(user, "pin"),
        "code": bool(user.confirmed),
        "own": user.pk == by.pk,
        "open": _may_reach(by, user),
    }


@require_POST
def end_sessions(request: HttpRequest, pk: int) -> HttpResponse:
    user = within_reach(request, pk)
    count = sessions.end_of(user, keep=request.session.session_key)
    said = ngettext("%(who)s: %(n)d session is ended.", "%(who)s: %(n)d sessions are ended.", count)
    messages.success(request, said % {"who": user, "n": count})
    return redirect("users")


@require_POST
def disable_user(request: HttpRequest, pk: int) -> HttpResponse:
    user = within_reach(request, pk)
    if user.pk == request.user.pk:
        messages.error(request, _("Not oneself: another manager must do that."))
    else:
        sessions.disable(user)
        messages.success(request, _("%(who)s is signed out and cannot sign in any more.") % {"who": user})
    return redirect("users")


@require_POST
def forget_code(request: HttpRequest, pk: int) -> HttpResponse:
    """Of whoever lost both phone and recovery codes. They are signed out: who has the phone may be sitting there."""
    user = within_reach(request, pk)
    if user.pk == request.user.pk:
        messages.error(
            request, _("Not oneself: another manager must do that, or you yourself on your own page.")
        )
    else:
        second_factor.forget(user)
        sessions.end_of(user)
        messages.success(request, _("%(who)s signs in by password alone, and is signed out.") % {"who": user})
    return redirect("users")


@require_POST
def enable_user(request: HttpRequest, pk: int) -> HttpResponse:
    user = within_reach(request, pk)
    sessions.enable(user)
    messages.success(request, _("%(who)s may sign in again, by password.") % {"who": user})
    return redirect("users")
