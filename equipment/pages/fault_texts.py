"""What the catalogue says of faults, and of what can hurt whoever handles a piece."""

from collections.abc import Mapping, Sequence
from functools import cache

from django.utils.translation import gettext as _

from equipment import catalogue
from equipment.catalogue.shapes import FaultType


def text_of(code: str) -> FaultType | None:
    """None for a fault that the catalogue does not know any more."""
    return _by_code().get(code)


@cache
def _by_code() -> Mapping[str, FaultType]:
    return {fault.code: fault for fault in catalogue.load().fault}


def cautions(kind: str) -> Sequence[str]:
    """What to mind with pieces of this kind, ending with what comes before all of it; nothing for harmless kinds."""
    found = [_(each.text) for each in catalogue.load().caution if kind in each.kinds]
    return [*found, _("The maker's instructions and local law come first.")] if found else []
