"""Whoever is asked for by a card, the farm's own number, or a name; and who may see whose lines."""

from datetime import date
from typing import Any

from django.core.exceptions import PermissionDenied
from django.utils.translation import gettext as _

from crews import policy
from crews.models import BadgeLoan, Picker, User
from equipment.domain import codes
from equipment.models.reading import own_crews, pickers
from equipment.models.registers import Asked, Register

SHOWN = 5


def may_see(user: User, register: Register) -> None:
    """Raises PermissionDenied."""
    if not policy.may_print(user, register.name):
        raise PermissionDenied
    if limited(user, register) and not (register.filters | register.needs) & {"crew", "picker"}:
        raise PermissionDenied


def may_see_lines(user: User, register: Register, asked: Asked) -> None:
    """For a question that was put before, by whomever. Raises PermissionDenied."""
    may_see(user, register)
    if not limited(user, register):
        return
    theirs = own_crews(user).filter(pk=asked.crew).exists()
    if not theirs and not (asked.picker and _found(user, asked.last).filter(pk=asked.picker).exists()):
        raise PermissionDenied


def limited(user: User, register: Register) -> bool:
    """Whether they print of their own crews only."""
    return policy.only_own_crews(user, policy.REGISTERS[register.name])


def picker(user: User, text: str, day: date) -> Picker:
    """Raises ValueError, with a sentence that says what to do."""
    rows = _found(user, day)
    if card := _card(text):
        loans = BadgeLoan.objects.filter(badge=card, from_day__lte=day).order_by("-from_day", "-id")
        rows = rows.filter(pk__in=loans.values("picker")[:1])
    elif numbered := rows.filter(number__iexact=text).first():
        return numbered
    else:
        rows = rows.filter(name__icontains=text)
    found = list(rows.order_by("name", "pk")[: SHOWN + 1])
    if not found:
        raise ValueError(
            _("Nobody is found by “%(text)s”. Scan their card, or type their number.") % {"text": text}
        )
    if len(found) > 1:
        raise ValueError(_several(text, found))
    return found[0]


def _found(user: User, day: date) -> Any:
    return pickers(day, user)


def _card(text: str) -> str:
    """Raises ValueError for a card that was misread."""
    try:
        code = codes.parse(text)
    except codes.WrongCheck as error:
        raise ValueError(_(error.message) % error.params) from None
    except codes.NotACode:
        return ""
    return code.text if code.prefix == codes.BADGE else ""


def _several(text: str, found: list[Picker]) -> str:
    named = ", ".join(f"{each.name} ({each.number})" for each in found[:SHOWN])
    more = "…" if len(found) > SHOWN else ""
    words = {"text": text, "names": named + more}
    return _("Several are found by “%(text)s”: %(names)s. Type the number of one.") % words
