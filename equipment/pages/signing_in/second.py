"""The second step at the door, and on one's own page the code from one's phone: set up, shown once, switched off."""

from base64 import b32encode
from io import BytesIO
from time import time
from typing import Any

from django.contrib import messages
from django.contrib.auth import authenticate, login
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters, sensitive_variables
from django.views.decorators.http import require_GET
from django_otp.plugins.otp_totp.models import TOTPDevice
from qrcode import QRCode
from qrcode.image.svg import SvgPathFillImage

from crews import second_factor, sessions
from crews.models import SignIn, User
from equipment.pages.signing_in.device import device_of
from equipment.pages.signing_in.forms import CodeForm, PasswordForm

ROLES = "crews.signing_in.RoleBackend"
# In the session of whoever gave their password again: until when the new secret may be seen and confirmed.
UNTIL = "second_factor_until"
MINUTES = 10


@never_cache
@sensitive_post_parameters("code")
def by_code(request: HttpRequest) -> HttpResponse:
    """After the password, before anything else."""
    user = second_factor.who_is_half_in(request)
    if user is None:
        return redirect("login")
    form = CodeForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        if authenticate(request, username=user.get_username(), code=form.cleaned_data["code"]):
            return _signed_in(request, user)
        form.add_error("code", _("That code does not fit. Wait for the next one; each is good once."))
    context = {"form": form, "next": request.POST.get("next") or request.GET.get("next", "")}
    return render(request, "registration/code.html", context, status=400 if form.errors else 200)


def _signed_in(request: HttpRequest, user: User) -> HttpResponse:
    from equipment.pages.signing_in.views import SignInPage

    del request.session[second_factor.HALF]
    request.sign_in = device_of(request), SignIn.How.CODE  # type: ignore[attr-defined]
    login(request, user, backend=ROLES)
    request.session[second_factor.GIVEN] = True
    page = SignInPage()
    page.setup(request)
    return redirect(page.get_success_url())


@never_cache
@sensitive_post_parameters()
@sensitive_variables("codes")
def my_code(request: HttpRequest) -> HttpResponse:
    """The password first; then the secret and a code of it; then, once, the recovery codes."""
    user = User.objects.get(pk=request.user.pk)
    # A session that gave none must not get round it by setting up another.
    if request.method == "POST" and second_factor.has(user) and not request.session.get(second_factor.GIVEN):
        raise PermissionDenied
    if "code" in request.POST and _may_see(request):
        return _confirm(request, user)
    form = PasswordForm(request.POST or None, request=request)
    if request.method != "POST" or not form.is_valid():
        return _shown(request, user, form)
    if "forget" in request.POST:
        return _forget(request, user)
    if "again" in request.POST and second_factor.has(user):
        return render(request, "me_code_kept.html", {"codes": second_factor.recovery_codes(user)})
    second_factor.begin(user)
    request.session[UNTIL] = time() + MINUTES * 60
    return redirect("me_code")


def _shown(request: HttpRequest, user: User, form: Any, code: CodeForm | None = None) -> HttpResponse:
    new = _new(user) if _may_see(request) else None
    context = {
        "form": form,
        "has": second_factor.has(user),
        "left": second_factor.left(user),
        "due": second_factor.is_due(request),
        "secret": _spaced(new) if new else "",
        "code": code or CodeForm(),
    }
    wrong = form.errors or (code and code.errors)
    return render(request, "me_code.html", context, status=400 if wrong else 200)


def _confirm(request: HttpRequest, user: User) -> HttpResponse:
    form = CodeForm(request.POST)
    codes = second_factor.confirm(user, form.cleaned_data["code"]) if form.is_valid() else []
    if not codes:
        form.add_error(
            "code", _("That code does not fit. Is the phone's clock right? Wait for the next code.")
        )
        return _shown(request, user, PasswordForm(request=request), form)
    del request.session[UNTIL]
    request.session[second_factor.GIVEN] = True
    sessions.end_of(user, keep=request.session.session_key)
    return render(request, "me_code_kept.html", {"codes": codes})


def _forget(request: HttpRequest, user: User) -> HttpResponse:
    second_factor.forget(user)
    request.session.pop(second_factor.GIVEN, None)
    messages.success(request, _("No code any more: your password is enough."))
    return redirect("me")


@never_cache
@require_GET
def my_code_picture(request: HttpRequest) -> HttpResponse:
    """The new secret as a QR symbol, for as long as it may be seen; the address says nothing of it."""
    new = _new(request.user) if _may_see(request) else None
    if new is None:
        raise Http404
    symbol, drawn = QRCode(border=4), BytesIO()
    symbol.add_data(new.config_url)
    symbol.make_image(image_factory=SvgPathFillImage).save(drawn)
    return HttpResponse(drawn.getvalue(), content_type="image/svg+xml")


def _may_see(request: HttpRequest) -> bool:
    return bool(time() < request.session.get(UNTIL, 0))


def _new(user: Any) -> TOTPDevice | None:
    return TOTPDevice.objects.filter(user=user.pk, confirmed=False).first()


def _spaced(new: TOTPDevice) -> str:
    """The secret as it is typed where no camera reads it: Base32 (RFC 4648) in fours."""
    text = b32encode(new.bin_key).decode()
    return " ".join(text[n : n + 4] for n in range(0, len(text), 4))
