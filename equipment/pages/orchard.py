"""The supervisor's phone: the page itself, the same for everybody, so that it can be kept on the phone.

Nothing of a person, a crew or a day is in it: who is here the page asks `/orchard/here/`, what is so the crew sheets.
"""

from typing import Any

from csp.decorators import csp_update
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.templatetags.static import static
from django.urls import reverse
from django.views.decorators.http import require_safe

from equipment.domain import codes
from equipment.pages.orchard_words import words
from equipment.pages.shell import files

CODE = "CODE"
"""Stands in an address for the code that the script puts there."""
SHA = "0" * 64


# The decoder of tags is WebAssembly, on this page only.
@csp_update({"script-src": ["'wasm-unsafe-eval'"]})
@require_safe
def orchard(request: HttpRequest) -> HttpResponse:
    answer = render(request, "orchard.html", {"script": for_script(), **files.told_to_page()})
    answer["Cache-Control"] = "no-cache"
    return answer


def for_script() -> dict[str, Any]:
    """One JSON block; the script has no words and no addresses of its own."""
    return {
        "urls": {
            "entries": reverse("api:entries"),
            "photos": reverse("api:photo", args=[SHA]).replace(f"{SHA}/", ""),
            "sheet": reverse("api:sheet", args=[CODE]),
            "here": reverse("orchard_here"),
            "icons": static("equipment/icons.svg"),
            "board": reverse("board"),
            "login": f"{reverse('login')}?next={reverse('orchard')}",
        },
        "prefixes": {"badge": codes.BADGE, "crew": codes.CREW, "set": codes.SET, "counter": codes.COUNTER},
        "words": words(),
    }
