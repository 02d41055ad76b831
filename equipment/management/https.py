"""`serve --https`: with which certificate, under which names, and what is told to whoever started it."""

import ssl
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from io import StringIO
from pathlib import Path

from django.conf import settings
from django.core.management.base import CommandError
from django.utils import timezone
from django.utils.translation import gettext as _
from qrcode import QRCode

from equipment.actions.trust import authority, server
from equipment.actions.trust.names import Names, of_this_machine


@dataclass(frozen=True)
class Secure:
    """`fingerprint` is of the farm's own authority, empty with a real certificate; `left_out`: what it cannot cover."""

    certificate: Path
    key: Path
    names: Names
    fingerprint: str = ""
    is_new: bool = False
    left_out: tuple[str, ...] = ()


def prepare(at: datetime) -> Secure:
    """The certificate to serve with, made or renewed where it is ours. CommandError where none can be had."""
    names = of_this_machine(settings.OWN_HOSTS)
    if settings.CERTIFICATE or settings.CERTIFICATE_KEY:
        return with_a_real_one(names)
    try:
        farms, is_new = authority.open_authority(settings.TRUST_DIR, settings.FARM_NAME, names, at)
    except authority.ClockIsWrong:
        raise CommandError(
            _(
                "This machine's clock says %(now)s, which is before its certificate authority was made. Set the clock."
            )
            % {"now": f"{at:%Y-%m-%d %H:%M}"}
        ) from None
    covered = farms.can_vouch_for(names)
    file = server.renew(settings.TRUST_DIR, farms, covered, at)
    left_out = tuple(host for host in names.hosts() if host not in covered.hosts())
    return Secure(file, file, covered, farms.fingerprint(), is_new, left_out)


def with_a_real_one(names: Names) -> Secure:
    certificate, key = Path(settings.CERTIFICATE), Path(settings.CERTIFICATE_KEY or settings.CERTIFICATE)
    try:
        ssl.create_default_context(ssl.Purpose.CLIENT_AUTH).load_cert_chain(certificate, key)
    except (OSError, ssl.SSLError) as error:
        raise CommandError(
            _("SHEDBOOK_CERTIFICATE and SHEDBOOK_CERTIFICATE_KEY do not name a certificate and its key: %s")
            % error
        ) from None
    return Secure(certificate, key, names)


def renewed() -> None:
    """Called every hour while it is served: the certificate as the network and the calendar have it by now.

    Every connection reads the file anew. What cannot be renewed now is left as it is, for the next hour.
    """
    try:
        secure = prepare(timezone.now())
    except CommandError:
        return
    allow(secure.names)


def allow(names: Names) -> None:
    """Answer to these names, and send cookies over HTTPS only. Django reads these settings at every request."""
    settings.HTTPS = settings.SESSION_COOKIE_SECURE = settings.CSRF_COOKIE_SECURE = True
    settings.LANGUAGE_COOKIE_SECURE, settings.SESSION_COOKIE_NAME = True, settings.SECURE_SESSION_NAME
    settings.ALLOWED_HOSTS = list(dict.fromkeys([*settings.OWN_HOSTS, *names.hosts()]))


def told(secure: Secure, secure_port: int, plain_port: int) -> Iterator[str]:
    """What is printed: where it is open, and how phones come to trust it."""
    for host in secure.names.hosts():
        yield f"  https://{host}:{secure_port}/"
    if not secure.fingerprint:
        return
    for host in secure.left_out:
        yield _("  (not %s: the farm's certificate authority may not vouch for it)") % host
    if secure.is_new:
        yield _("A certificate authority was made for this farm: each phone must be told once to trust it.")
    address = f"http://{secure.names.to_tell()}:{plain_port}/trust/"
    yield _("How a phone comes to trust it: %s") % address
    yield qr(address)
    yield _("SHA-256 of the authority: %s") % secure.fingerprint


def qr(text: str) -> str:
    """For a terminal, two modules a character."""
    out, symbol = StringIO(), QRCode(border=2)
    symbol.add_data(text)
    symbol.print_ascii(out=out, invert=True)
    return out.getvalue()
