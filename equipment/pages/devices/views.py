"""The office's page: the farm's phones, when each was last heard of, what it still had to send; codes for new ones."""

from datetime import datetime, timedelta
from typing import Any
from urllib.parse import urlsplit
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_GET, require_POST

from crews.models import Device, Enrolment
from crews.models.devices import DeviceQuerySet
from equipment.actions.enrol import new_code, revoke
from equipment.documents import symbols
from equipment.pages.devices.forms import NewCodeForm, PhoneForm

# A phone that had something to send and was not heard of for longer than a working day wants a hand.
SILENT_FOR = timedelta(hours=14)
ONLY_HERE = frozenset({"localhost", "127.0.0.1", "::1"})
CODE_GROUP = 4


@require_GET
def devices(request: HttpRequest) -> HttpResponse:
    """Of one request, one query for the phones."""
    at = timezone.now()
    rows = [_row(phone, at) for phone in _phones()]
    context = {
        "phones": [row for row in rows if not row["revoked"]],
        "revoked": [row for row in rows if row["revoked"]],
        "form": NewCodeForm(initial={"store": request.user.store_id}),  # type: ignore[union-attr]
    }
    return render(request, "devices.html", context)


def device(request: HttpRequest, pk: UUID) -> HttpResponse:
    phone = get_object_or_404(_phones(), pk=pk)
    row = _row(phone, timezone.now())
    form = PhoneForm(request.POST or None, instance=phone)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, _("Written down."))
        return redirect("devices")
    name = row["name"]
    return render(
        request, "device.html", {"row": row, "name": name, "form": form}, status=400 if form.errors else 200
    )


@require_POST
def revoke_device(request: HttpRequest, pk: UUID) -> HttpResponse:
    phone = get_object_or_404(_phones(), pk=pk)
    revoke(phone, timezone.now())
    said = _("%(phone)s is revoked. What it still sends waits for somebody to look at it.")
    messages.success(request, said % {"phone": phone})
    return redirect("devices")


@require_POST
def make_code(request: HttpRequest) -> HttpResponse:
    form = NewCodeForm(request.POST)
    if not form.is_valid():
        messages.error(request, _("Say for which store."))
        return redirect("devices")
    made = new_code(form.cleaned_data["store"], request.user, timezone.now())  # type: ignore[arg-type]
    return redirect("device_code", made.pk)


@require_GET
def device_code(request: HttpRequest, pk: int) -> HttpResponse:
    """The code as a picture and as text, as long as it is good; then what became of it."""
    made = get_object_or_404(Enrolment.objects.select_related("store", "device"), pk=pk)
    address = _address(request, made)
    context = {
        "made": made,
        "standing": made.standing(timezone.now()),
        "spelled": f"{made.code[:CODE_GROUP]} {made.code[CODE_GROUP:]}",
        "address": address,
        "symbol": symbols.as_svg(address),
        "only_here": urlsplit(address).hostname in ONLY_HERE,
        "bare": urlsplit(address).scheme != "https",
    }
    return render(request, "device_code.html", context)


def _address(request: HttpRequest, made: Enrolment) -> str:
    """Where phones reach this Shedbook: as set, else as this browser does."""
    path = reverse("enrol", args=[made.code])
    base = settings.LABEL_URL_BASE
    return f"{base.rstrip('/')}{path}" if base else request.build_absolute_uri(path)


def _phones() -> DeviceQuerySet:
    phones = Device.objects.filter(kind=Device.Kind.PHONE)
    return phones.select_related("store").order_by("name", "enrolled_at", "pk")


def _row(phone: Device, at: datetime) -> dict[str, Any]:
    silent = phone.last_contact is None or at - phone.last_contact > SILENT_FOR
    return {
        "pk": phone.pk,
        "name": str(phone),
        "store": phone.store.name if phone.store else "",
        "enrolled": phone.enrolled_at,
        "contact": phone.last_contact,
        "unsent": phone.unsent,
        "wants": bool(phone.unsent) and silent,
        "revoked": phone.revoked_at,
    }
