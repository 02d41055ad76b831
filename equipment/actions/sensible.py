"""Does a detail make sense by the catalogue: is there such a fault, checklist, recipe, disease, and for this kind?

Asked before anything is recorded, by the API and by the pages alike; the fold needs no catalogue.
"""

from collections.abc import Callable, Mapping
from functools import cache
from typing import Any

from django.utils.translation import gettext as _

from equipment import catalogue
from equipment.domain import checklist, sealing
from equipment.models import checklists


class Senseless(ValueError):
    """The message is a sentence that a person can act on."""


def check(verb: str, detail: Mapping[str, Any], kind: str | None) -> None:
    """`kind` of the item, None where the subject is none. Raises Senseless."""
    if sees_to := CHECKS.get(verb):
        sees_to(detail, kind)


def _fault(detail: Mapping[str, Any], kind: str | None) -> None:
    fault = _known("fault", detail["fault"], _("there is no fault “%(name)s”."))
    if kind and not fault.can_be_on(kind):
        raise Senseless(_("“%(fault)s” is no fault of this kind of gear.") % {"fault": _(fault.name)})


def _mended(detail: Mapping[str, Any], kind: str | None) -> None:
    _fault(detail, kind)
    if detail["fault"] in ("dirty", "wet"):
        raise Senseless(_("Dirt and wet are not mended: wash it, or dry it."))


def _inspected(detail: Mapping[str, Any], kind: str | None) -> None:
    found = _known("checklist", detail["checklist"], _("there is no checklist “%(name)s”."))
    if found.kind is None or (kind and found.kind != kind):
        raise Senseless(_("the checklist “%(name)s” is not for this kind of gear.") % {"name": _(found.name)})
    _answered(found, detail["answers"])


def _morning_checked(detail: Mapping[str, Any], kind: str | None) -> None:
    _answered(checklists.by_code()[sealing.MORNING], detail["answers"])


def _answered(found: Any, answers: Mapping[str, Any]) -> None:
    try:
        checklist.check(found.point, answers)
    except checklist.BadAnswer as bad:
        raise Senseless(_(bad.message) % bad.params) from None


def _cleaned(detail: Mapping[str, Any], kind: str | None) -> None:
    if detail.get("recipe"):
        _known("recipe", detail["recipe"], _("there is no recipe “%(name)s”."))


def _mixed(detail: Mapping[str, Any], kind: str | None) -> None:
    _known("recipe", detail["recipe"], _("there is no recipe “%(name)s”."))


def _flagged(detail: Mapping[str, Any], kind: str | None) -> None:
    disease = _known("disease", detail["disease"], _("there is no disease “%(name)s”."))
    if kind and kind not in disease.carriers:
        raise Senseless(_("this kind of gear does not carry %(name)s.") % {"name": _(disease.name)})


def _known(table: str, code: str, unknown: str) -> Any:
    found = _table(table).get(code)
    if found is None:
        raise Senseless(unknown % {"name": code[:40]})
    return found


@cache
def _table(table: str) -> Mapping[str, Any]:
    return {row.code: row for row in getattr(catalogue.load(), table)}


CHECKS: Mapping[str, Callable[[Mapping[str, Any], str | None], None]] = {
    "fault_found": _fault,
    "mended": _mended,
    "released": _fault,
    "inspected": _inspected,
    "morning_checked": _morning_checked,
    "cleaned": _cleaned,
    "mixed": _mixed,
    "flagged": _flagged,
}
