"""The door: by password anywhere, by PIN at a counter or on a phone of the farm."""

from typing import Any
from urllib.parse import urlencode

from django.contrib.auth import login
from django.contrib.auth.views import LoginView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.decorators import method_decorator
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from crews import second_factor
from crews.models import Device, SignIn
from equipment.pages.signing_in.device import at_counter, device_of
from equipment.pages.signing_in.forms import PinInForm

ROLES = "crews.signing_in.RoleBackend"


@method_decorator(sensitive_post_parameters("password", "pin"), name="dispatch")
class SignInPage(LoginView):
    """`?who=` is the number of whose name was touched at a counter: the page then asks for the PIN."""

    def form_valid(self, form: Any) -> HttpResponse:
        """Who has a code to give is not signed in yet."""
        if second_factor.has(form.get_user()):
            asked = self.get_redirect_url()
            second_factor.half_in(self.request, form.get_user())
            return redirect(f"{reverse('login_code')}?{urlencode({'next': asked})}")
        self.request.sign_in = device_of(self.request), SignIn.How.PASSWORD  # type: ignore[attr-defined]
        return super().form_valid(form)

    def get_context_data(self, **given: Any) -> dict[str, Any]:
        context = super().get_context_data(**given)
        device = device_of(self.request)
        return {**context, **_door(self.request, device), "change": "change" in self.request.GET}


@never_cache
@sensitive_post_parameters("pin")
@require_POST
def by_pin(request: HttpRequest) -> HttpResponse:
    device = device_of(request)
    if device is None:
        return redirect("login")
    form = PinInForm(request.POST, request=request, device=device)
    page = SignInPage()
    page.setup(request)
    if form.is_valid():
        request.sign_in = device, SignIn.How.PIN  # type: ignore[attr-defined]
        login(request, form.user, backend=ROLES)
        return redirect(page.get_success_url())
    context = page.get_context_data(form=page.get_form_class()(request)) | _door(request, device, form)
    return render(request, "registration/login.html", context, status=400)


def _door(request: HttpRequest, device: Device | None, sent: PinInForm | None = None) -> dict[str, Any]:
    """What the page shows of PINs: names to touch, or the form, for the name that was touched."""
    names = at_counter(device)
    asked, called = request.GET.get("who", ""), sent.data.get("who", "") if sent else ""
    chosen = next((user for user in names if str(user.pk) == asked or user.get_username() == called), None)
    form = sent or PinInForm(request=request, device=device)
    form.fields["pin" if chosen else "who"].widget.attrs["autofocus"] = True
    return {"device": device, "names": names, "chosen": chosen, "pin_form": form if device else None}
