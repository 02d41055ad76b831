"""Checks the numbers a person gives, and says which one cannot be and what to give instead.

Every number has a name of a few words (`what`), the words that stand beside its field on the page.
"""

import math
from collections.abc import Mapping
from typing import SupportsFloat

from equipment.domain.words import gettext_noop


class BadNumber(ValueError):
    """`message` is a gettext template, `params` fill it; `params["what"]`, where present, is translated first."""

    def __init__(self, message: str, **params: object) -> None:
        self.message = message
        self.params: Mapping[str, object] = params
        super().__init__(message % params)


def above_zero(what: str, value: SupportsFloat) -> float:
    """`value` as a finite float above zero; raises BadNumber."""
    number = _finite(what, value)
    if number <= 0:
        raise BadNumber(
            gettext_noop("%(what)s: give a number above zero, not %(given)s."), what=what, given=value
        )
    return number


def zero_or_more(what: str, value: SupportsFloat) -> float:
    """`value` as a finite float from zero; raises BadNumber."""
    number = _finite(what, value)
    if number < 0:
        raise BadNumber(gettext_noop("%(what)s: give zero or more, not %(given)s."), what=what, given=value)
    return number


def per_cent(what: str, value: SupportsFloat) -> float:
    """`value` as a float above 0 and up to 100; raises BadNumber."""
    number = above_zero(what, value)
    if number > 100:
        raise BadNumber(
            gettext_noop("%(what)s: nothing is stronger than 100 %%; %(given)s is. Is that figure in ppm?"),
            what=what,
            given=value,
        )
    return number


def fraction(what: str, value: SupportsFloat) -> float:
    """`value` as a float between 0 and 1, neither included; raises BadNumber."""
    number = _finite(what, value)
    if not 0 < number < 1:
        raise BadNumber(
            gettext_noop("%(what)s: give a fraction between 0 and 1, such as 0.95, not %(given)s."),
            what=what,
            given=value,
        )
    return number


def count(what: str, value: SupportsFloat, low: int = 0, high: int | None = None) -> int:
    """`value` as a whole number from `low` to `high`, both included, None for no end; raises BadNumber."""
    number = _finite(what, value)
    if number == math.floor(number) and low <= number and (high is None or number <= high):
        return int(number)
    if high is None:
        message = gettext_noop("%(what)s: give a whole number from %(low)s, not %(given)s.")
    else:
        message = gettext_noop("%(what)s: give a whole number from %(low)s to %(high)s, not %(given)s.")
    raise BadNumber(message, what=what, low=low, high=high, given=value)


def _finite(what: str, value: SupportsFloat) -> float:
    try:
        number = float(value)
    except (TypeError, ValueError, OverflowError):
        number = math.nan
    if not math.isfinite(number):
        raise BadNumber(gettext_noop("%(what)s: “%(given)s” is not a number."), what=what, given=value)
    return number
