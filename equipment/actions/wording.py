"""The words of a code, translated and filled in: the same at the counter, on a page and in the API."""

from collections import defaultdict
from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _

from equipment.domain.refusals import REFUSALS


def refusal(code: str, params: Mapping[str, Any]) -> str:
    """What a refusal means and what to do instead; the code itself where it has no words."""
    template = REFUSALS.get(code)
    return filled(template, params) if template else code


def filled(template: str, params: Mapping[str, Any]) -> str:
    """The template in the reader's language; a parameter that is not known shows as an ellipsis."""
    known = {key: value for key, value in params.items() if value is not None}
    return _(template) % defaultdict(lambda: "…", known)


class NotDone(ValueError):
    """What was asked for cannot be done; the message says why and what to do, in the reader's language."""
