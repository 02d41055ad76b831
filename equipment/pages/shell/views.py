"""The worker's script and the manifest: public, for both are fetched again while nobody is signed in."""

import json
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.urls import reverse
from django.utils.translation import get_language, get_language_bidi
from django.utils.translation import gettext as _

from crews import languages
from equipment.pages.shell import files, icons


def service_worker(request: HttpRequest) -> HttpResponse:
    """The worker with what it is to keep written at its head: another build is another script, so browsers notice.

    Another language is another build. The browser remembers that of whoever had the page last, for when they are signed
    out.
    """
    shell = files.shell()
    given = {
        "page": shell.page,
        "language": get_language(),
        "build": shell.build,
        "made": shell.made,
        "files": shell.files,
        "decoderBuild": shell.decoder_build,
        "decoder": shell.decoder,
    }
    script = f"const SHELL = {json.dumps(given)};\n{files.worker()}"
    answer = HttpResponse(script, content_type="text/javascript; charset=utf-8")
    answer["Cache-Control"] = "no-cache"
    answer["Service-Worker-Allowed"] = "/"
    languages.remember(request, answer)
    return answer


def manifest(request: HttpRequest) -> HttpResponse:
    answer = JsonResponse(as_installed(), content_type="application/manifest+json")
    answer["Cache-Control"] = "no-cache"
    return answer


def as_installed() -> dict[str, Any]:
    """W3C Web Application Manifest. The scope is all of Shedbook, so that signing in stays in the same window."""
    page = reverse("orchard")
    return {
        "id": page,
        "name": _("Shedbook, in the orchard"),
        "short_name": "Shedbook",
        "description": _("Who has what, what is broken, by when the crew dips: with or without a signal."),
        "start_url": page,
        "scope": "/",
        "display": "standalone",
        "lang": get_language() or "en",
        "dir": "rtl" if get_language_bidi() else "ltr",
        "background_color": icons.PAPER,
        "theme_color": icons.LEAF,
        "icons": [
            {
                "src": reverse("orchard_icon", args=[name]),
                "sizes": f"{side}x{side}",
                "type": "image/png",
                "purpose": purpose,
            }
            for name, (side, _share, purpose) in icons.PNGS.items()
            if purpose
        ]
        + [{"src": reverse("orchard_icon_svg"), "sizes": "any", "type": "image/svg+xml", "purpose": "any"}],
    }
