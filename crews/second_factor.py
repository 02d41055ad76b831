"""Beside the password a code from one's own phone, for the safety officer and the manager (TOTP, RFC 6238).

Who has one is not signed in by the password alone. A code is good once, in its half minute or the ones beside it.
Tries are counted twice: by django-otp at the secret, which then waits longer each time, and by axes for user and
address together, as passwords are. Who lost the phone has recovery codes, each good once; what is stored of them is
mixed with a key that does not lie in the database. A PIN at a counter never asks for a code: who may have one of the
two may not have the other.
"""

import re
import secrets
from time import time
from typing import Any

from django.conf import settings
from django.contrib.auth.backends import BaseBackend
from django.db import transaction
from django.http import HttpRequest
from django.utils.crypto import salted_hmac
from django_otp import verify_token
from django_otp.plugins.otp_static.models import StaticDevice
from django_otp.plugins.otp_totp.models import TOTPDevice
from rest_framework.request import Request

from crews import policy
from crews.models import User

MAY_HAVE = frozenset({policy.OFFICER, policy.MANAGER})
DEMANDED = "demanded"
RECOVERY_CODES = 10
# No vowels and nothing that looks like something else: 8 of 24 signs are 36 bits, behind a throttle.
LETTERS = "bcdfghjkmnpqrstvwxz23456"
A_CODE = re.compile(r"[0-9]{6}", re.ASCII)
# In a session: that it was begun with a code, or set one up.
GIVEN = "second_factor"
# In a session that nobody is signed in to: whose password was right, when, and what marks that password.
HALF = "half_signed_in"
HALF_SECONDS = 300


def may_have(user: Any) -> bool:
    return bool(user.is_superuser or user.roles & MAY_HAVE)


def has(user: User) -> bool:
    return TOTPDevice.objects.filter(user=user, confirmed=True).exists()


def left(user: User) -> int:
    """How many recovery codes are not used yet."""
    return sum(device.token_set.count() for device in StaticDevice.objects.filter(user=user))


def is_due(request: HttpRequest | Request) -> bool:
    """Whether the farm demands a code of whoever asks, and this session has none. Asks the database for nothing."""
    return settings.SECOND_FACTOR == DEMANDED and may_have(request.user) and not request.session.get(GIVEN)


def begin(user: User) -> TOTPDevice:
    """A new secret, which counts for nothing until `confirm`; an earlier one that was never confirmed is gone."""
    TOTPDevice.objects.filter(user=user, confirmed=False).delete()
    return TOTPDevice.objects.create(user=user, name="phone", confirmed=False)


@transaction.atomic
def confirm(user: User, code: str) -> list[str]:
    """The new secret counts, where `code` is of it; the recovery codes, to be shown once. [] where it does not fit."""
    new = TOTPDevice.objects.filter(user=user, confirmed=False).first()
    if new is None or not verify_token(user, new.persistent_id, _bare(code)):
        return []
    TOTPDevice.objects.filter(user=user, confirmed=True).delete()
    TOTPDevice.objects.filter(pk=new.pk).update(confirmed=True)
    return recovery_codes(user)


@transaction.atomic
def recovery_codes(user: User) -> list[str]:
    """New ones; those before are good no more."""
    StaticDevice.objects.filter(user=user).delete()
    device = StaticDevice.objects.create(user=user, name="recovery")
    codes = ["".join(secrets.choice(LETTERS) for _ in range(8)) for _ in range(RECOVERY_CODES)]
    for code in codes:
        device.token_set.create(token=_stored(user, code))
    return [f"{code[:4]}-{code[4:]}" for code in codes]


def forget(user: User) -> None:
    """From now on the password is enough."""
    TOTPDevice.objects.filter(user=user).delete()
    StaticDevice.objects.filter(user=user).delete()


def fits(user: User, code: str) -> bool:
    """Whether it is the code of this half minute, or a recovery code; either is used up by this."""
    code = _bare(code)
    if A_CODE.fullmatch(code):
        device, asked = TOTPDevice.objects.filter(user=user, confirmed=True).first(), code
    else:
        device, asked = StaticDevice.objects.filter(user=user).first(), _stored(user, code)
    return device is not None and verify_token(user, device.persistent_id, asked) is not None


class CodeBackend(BaseBackend):
    """Asked by `authenticate(request, username=, code=)` only, after the password; so axes counts the tries."""

    def authenticate(
        self, request: HttpRequest | None, username: str = "", code: str = "", **others: Any
    ) -> User | None:
        user = User.objects.filter(username=username, is_active=True).first() if code else None
        return user if user is not None and fits(user, code) else None


def half_in(request: HttpRequest, user: User) -> None:
    """The password of `user` was right. Under a new number, so that a session planted before is worth nothing."""
    request.session.flush()
    request.session[HALF] = {"user": user.pk, "at": time(), "password": user.get_session_auth_hash()}


def who_is_half_in(request: HttpRequest) -> User | None:
    """Within five minutes, and while the password is the same."""
    half = request.session.get(HALF)
    if not half or time() - half["at"] >= HALF_SECONDS:
        return None
    user = User.objects.filter(pk=half["user"], is_active=True).first()
    return user if user and user.get_session_auth_hash() == half["password"] else None


def _bare(code: str) -> str:
    return "".join(code.split()).replace("-", "").lower()


def _stored(user: User, code: str) -> str:
    """What is kept of a recovery code: 64 bits of an HMAC, as long as the column is."""
    return salted_hmac("crews.recovery", f"{user.pk}:{code}", algorithm="sha256").hexdigest()[:16]
