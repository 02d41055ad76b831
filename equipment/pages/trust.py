"""How a phone comes to trust this machine: the page, the farm's certificate to download, the code that leads here."""

from datetime import UTC

from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from qrcode import QRCode
from qrcode.image.svg import SvgPathFillImage

from equipment.actions.trust import authority
from equipment.actions.trust.names import as_address, of_this_machine


def certificate() -> x509.Certificate | None:
    """Of the farm's own authority; None where there is none, or a real certificate is served instead."""
    kept = None if settings.CERTIFICATE else authority.read(settings.TRUST_DIR)
    return kept.certificate if kept else None


def trust(request: HttpRequest) -> HttpResponse:
    farms = certificate()
    context = {
        "farms": farms is not None,
        "fingerprint": authority.fingerprint(farms) if farms else "",
        "until": farms.not_valid_after_utc.astimezone(UTC) if farms else None,
        "name": farms.subject.rfc4514_string().removeprefix("CN=") if farms else "",
        "here": here(request),
        "orchard": secure_orchard(request),
    }
    return render(request, "trust.html", context)


def here(request: HttpRequest) -> str:
    """This page's own address, over HTTP where that is open: a phone that does not trust us yet can get there."""
    if settings.PLAIN_PORT is None:
        return request.build_absolute_uri(reverse("trust"))
    return f"http://{host(request)}:{settings.PLAIN_PORT}{reverse('trust')}"


def secure_orchard(request: HttpRequest) -> str:
    """Where the orchard page is, over HTTPS; empty where this server does not serve that."""
    if settings.SECURE_PORT is None:
        return request.build_absolute_uri(reverse("orchard")) if request.is_secure() else ""
    return f"https://{host(request)}:{settings.SECURE_PORT}{reverse('orchard')}"


def host(request: HttpRequest) -> str:
    """By what a phone reaches this machine: as it was asked for, and on the machine itself by its address.

    Without the port. Raises DisallowedHost.
    """
    asked, colon, port = request.get_host().rpartition(":")
    name = asked if colon and port.isdigit() else request.get_host()
    address = as_address(name)
    if name == "localhost" or (address is not None and address.is_loopback):
        return of_this_machine(settings.OWN_HOSTS).to_tell()
    return name


def trust_certificate(request: HttpRequest) -> HttpResponse:
    """In the form that phones install from (DER)."""
    farms = certificate()
    if farms is None:
        raise Http404
    return HttpResponse(farms.public_bytes(Encoding.DER), content_type="application/x-x509-ca-cert")


def trust_code(request: HttpRequest, where: str) -> HttpResponse:
    """The symbol of one of the page's two addresses."""
    addresses = {"trust": here, "orchard": secure_orchard}
    text = addresses[where](request) if where in addresses else ""
    if not text:
        raise Http404
    symbol = QRCode(border=4)
    symbol.add_data(text)
    picture = symbol.make_image(image_factory=SvgPathFillImage)
    return HttpResponse(picture.to_string(), content_type="image/svg+xml")
