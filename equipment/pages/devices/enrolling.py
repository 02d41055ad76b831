"""On the phone: `/orchard/enrol/<code>`, where the code of the office's page leads."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from equipment.actions.enrol import CodeRefused, enrol, look_up
from equipment.pages.devices.forms import PhoneForm, TypedCodeForm
from equipment.pages.devices.phone import phone_of, remember

STATUS = {"unknown": 404, "used": 410, "expired": 410}


@require_GET
def type_code(request: HttpRequest) -> HttpResponse:
    """For a phone whose camera does not read codes."""
    form = TypedCodeForm(request.GET or None)
    if form.is_valid():
        # What a person typed may hold a slash, and an address may not.
        code = "".join(letter for letter in form.cleaned_data["code"] if letter.isalnum())
        return redirect("enrol", code or "-")
    return render(request, "enrol_type.html", {"form": form})


def enrol_phone(request: HttpRequest, code: str) -> HttpResponse:
    """Says what will happen and asks for a name; then it happens."""
    at, phone = timezone.now(), phone_of(request)
    known = phone if phone is not None and phone.revoked_at is None else None
    form = PhoneForm(request.POST or None, initial={"name": known.name if known else ""})
    try:
        found = look_up(code, at)
        if request.method == "POST" and form.is_valid():
            made = enrol(code, form.cleaned_data["name"], at, known)
            response = redirect("orchard")
            remember(request, response, made)
            return response
    except CodeRefused as refused:
        used_here = refused.enrolment is not None and known is not None and refused.enrolment.device == known
        context = {"why": refused.why, "phone": known if used_here else None, "form": TypedCodeForm()}
        return render(request, "enrol_refused.html", context, status=STATUS[refused.why])
    context = {
        "enrolment": found,
        "form": form,
        "known": known,
        "was_revoked": phone is not None and not known,
    }
    return render(request, "enrol.html", context, status=400 if form.errors else 200)
