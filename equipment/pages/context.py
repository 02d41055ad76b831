"""What every page knows: the farm and the lines of the navigation that this user may open."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse
from django.utils.translation import gettext_lazy as _

from crews import policy

NAVIGATION = (
    ("board", _("Board")),
    ("counter", _("Counter")),
    ("gear", _("Gear")),
    ("still_out", _("Still out")),
    ("crews", _("Crews")),
    ("plans", _("Plans")),
    ("import", _("Import")),
    ("sets", _("Sets")),
    ("labels", _("Labels")),
    ("paper", _("Paper")),
)


def house(request: HttpRequest) -> dict[str, Any]:
    return {"farm_name": settings.FARM_NAME, "nav": list(_lines(request))}


def _lines(request: HttpRequest) -> Any:
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return
    match = getattr(request, "resolver_match", None)
    here = match.view_name if match else ""
    for name, words in NAVIGATION:
        if policy.may_open(user, name, "GET"):
            try:
                yield {"url": reverse(name), "name": words, "current": name == here}
            except NoReverseMatch:
                continue
