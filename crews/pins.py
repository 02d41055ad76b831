"""Six digits instead of a password, for a storeman or a supervisor, at a counter or phone of the farm only.

A million PINs are soon tried where the digests are known, so they are mixed with a key that does not lie in the
database (the pepper, from the secret key) before argon2. Where they are not known, the throttle of the sign-in counts,
by user and address together, and after MOST_WRONG tries a PIN is dead until its owner sets a new one.
"""

from datetime import datetime
from itertools import pairwise
from typing import Any

from django.contrib.auth.backends import BaseBackend
from django.contrib.auth.hashers import Argon2PasswordHasher
from django.db.models import F
from django.http import HttpRequest
from django.utils.crypto import salted_hmac
from django.utils.translation import gettext as _

from crews import policy
from crews.models import Device, Pin, User

LENGTH = 6
MOST_WRONG = 50
MAY_HAVE = frozenset({policy.STOREMAN, policy.SUPERVISOR})
PASSWORD_ONLY = frozenset({policy.OFFICER, policy.MANAGER})


def may_have(user: User) -> bool:
    """Who also is safety officer or manager signs in by password."""
    return bool(user.roles & MAY_HAVE) and not user.roles & PASSWORD_ONLY and not user.is_superuser


def set_pin(user: User, pin: str, at: datetime) -> None:
    """Raises ValueError, with a sentence, where anybody would guess it, or `user` may have none."""
    if problem := flaw(pin):
        raise ValueError(problem)
    if not may_have(user):
        raise ValueError(_("With this work one signs in by password only."))
    hasher = Argon2PasswordHasher()
    digest = hasher.encode(_peppered(user.pk, pin), hasher.salt())
    Pin.objects.update_or_create(user=user, defaults={"digest": digest, "set_at": at, "wrong": 0})


def flaw(pin: str) -> str:
    """What is wrong with a PIN that somebody wants, "" where nothing is."""
    if not (len(pin) == LENGTH and pin.isascii() and pin.isdigit()):
        return _("A PIN is six digits.")
    steps = {(int(later) - int(earlier)) % 10 for earlier, later in pairwise(pin)}
    if len(steps) == 1 and steps <= {0, 1, 9}:
        return _("Everybody tries that one first. Choose another.")
    if len(set(pin)) < 3 or pin[:3] == pin[3:]:
        return _("That one is soon guessed. Choose one with more different digits.")
    return ""


def fits(user: User, pin: str) -> bool:
    """Whether it is the PIN of `user`; a try is counted."""
    known = Pin.objects.filter(user=user).first()
    if known is None or known.wrong >= MOST_WRONG:
        _take_as_long(pin)
        return False
    good = Argon2PasswordHasher().verify(_peppered(user.pk, pin), known.digest)
    if not good:
        Pin.objects.filter(pk=known.pk).update(wrong=F("wrong") + 1)
    elif known.wrong:
        Pin.objects.filter(pk=known.pk).update(wrong=0)
    return good


class PinBackend(BaseBackend):
    """Asked by `authenticate(request, username=, pin=, device=)` only; sessions are `RoleBackend`'s, as everybody's."""

    def authenticate(
        self,
        request: HttpRequest | None,
        username: str = "",
        pin: str = "",
        device: Device | None = None,
        **others: Any,
    ) -> User | None:
        if not pin or device is None or device.revoked_at is not None:
            return None
        user = User.objects.filter(username=username, is_active=True).first()
        if user is None or not may_have(user):
            _take_as_long(pin)
            return None
        return user if fits(user, pin) else None


def _peppered(user: int, pin: str) -> str:
    """The same digits of two people give two texts."""
    return salted_hmac("crews.pins", f"{user}:{pin}", algorithm="sha256").hexdigest()


def _take_as_long(pin: str) -> None:
    """The time of an answer must not tell whether there is such a name, or a PIN of it."""
    hasher = Argon2PasswordHasher()
    hasher.encode(_peppered(0, pin), hasher.salt())
