"""Every page about people and places shows the way to its neighbours, in the margin."""

from collections.abc import Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext_lazy as _

from equipment.pages.links import link

NEIGHBOURS = (
    ("crews", _("Crews")),
    ("pickers", _("Pickers")),
    ("plans", _("Plans")),
    ("blocks", _("Blocks")),
    ("stores", _("Stores")),
)


def sheet(request: HttpRequest, template: str, context: Mapping[str, Any]) -> HttpResponse:
    """The page, with the neighbours that this person may open."""
    here = request.resolver_match.view_name if request.resolver_match else ""
    pages = [
        {"url": url, "words": words, "here": name == here}
        for name, words in NEIGHBOURS
        if (url := link(request.user, name))
    ]
    return render(request, template, {**context, "beside": pages})
