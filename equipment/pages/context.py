"""What every page knows: the farm and the lines of the navigation that this user may open."""

from collections.abc import Iterable, Iterator
from typing import Any

from django.conf import settings
from django.http import HttpRequest
from django.urls import NoReverseMatch, reverse
from django.utils.translation import gettext_lazy as _

from crews import policy

# What somebody needs every day, in the order of the day; then the rest, which lies under one word.
DAILY = (
    ("board", _("Board")),
    ("counter", _("Counter")),
    ("orchard", _("Orchard")),
    ("bench", _("Bench")),
    ("evening_plan", _("Plan")),
    ("wash", _("Wash")),
    ("still_out", _("Still out")),
    ("settle", _("To settle")),
    ("gear", _("Gear")),
    ("registers", _("Registers")),
)
MORE = (
    ("goods", _("Goods")),
    ("sets", _("Sets")),
    ("figures", _("Figures")),
    ("crews", _("Crews")),
    ("plans", _("Plans")),
    ("audits", _("Audits")),
    ("stocktakes", _("Stocktake")),
    ("trace", _("Disease trace")),
    ("rules", _("Rules")),
    ("labels", _("Labels")),
    ("paper", _("Paper")),
    ("import", _("Import")),
    ("devices", _("Phones")),
    ("users", _("Who signs in")),
)


def house(request: HttpRequest) -> dict[str, Any]:
    return {
        "farm_name": settings.FARM_NAME,
        "nav": list(_lines(request, DAILY)),
        "more": list(_lines(request, MORE)),
    }


def _lines(request: HttpRequest, pages: Iterable[tuple[str, Any]]) -> Iterator[dict[str, Any]]:
    user = getattr(request, "user", None)
    if user is None or not user.is_authenticated:
        return
    match = getattr(request, "resolver_match", None)
    here = match.view_name if match else ""
    for name, words in pages:
        if name in policy.PUBLIC or policy.may_open(user, name, "GET"):
            try:
                yield {"url": reverse(name), "name": words, "current": name == here}
            except NoReverseMatch:
                continue
