"""A phone becomes one of the farm's: a code made in the office, used up on the phone. And it ceases to be one."""

import secrets
from datetime import datetime, timedelta
from typing import Literal

from django.db import transaction

from crews import sessions
from crews.models import Device, Enrolment, Store, User

GOOD_FOR = timedelta(minutes=15)
# What it was used for can be looked up for so long.
KEPT_FOR = timedelta(days=30)
# Nothing that is taken for another where it is read out or typed.
LETTERS = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"
LENGTH = 8


class CodeRefused(Exception):
    """`why`: nobody knows the code, it was used, or it is too old. `enrolment` is None where nobody knows it."""

    def __init__(
        self, why: Literal["unknown", "used", "expired"], enrolment: Enrolment | None = None
    ) -> None:
        super().__init__(why)
        self.why, self.enrolment = why, enrolment


def new_code(store: Store, by: User, at: datetime) -> Enrolment:
    """A code that enrols one phone for `store` until a quarter of an hour after `at`."""
    Enrolment.objects.filter(expires_at__lt=at - KEPT_FOR).delete()
    code = "".join(secrets.choice(LETTERS) for _ in range(LENGTH))
    return Enrolment.objects.create(code=code, store=store, made_by=by, made_at=at, expires_at=at + GOOD_FOR)


def look_up(text: str, at: datetime) -> Enrolment:
    """The open code that was scanned or typed, in any case, with blanks or hyphens. Raises CodeRefused."""
    code = "".join(letter for letter in text.upper() if letter in LETTERS)
    found = Enrolment.objects.select_related("store", "device").filter(code=code).first()
    if found is None:
        raise CodeRefused("unknown")
    standing = found.standing(at)
    if standing != "open":
        raise CodeRefused(standing, found)
    return found


def enrol(text: str, name: str, at: datetime, known: Device | None = None) -> Device:
    """Use the code up for a phone called `name`. `known` is this phone where it was enrolled before and not revoked: it
    keeps its number, so that what waits on it still goes. Raises CodeRefused."""
    with transaction.atomic():
        found = look_up(text, at)
        # Two phones that scan the same screen at once: one of them gets it.
        if not Enrolment.objects.open(at).filter(pk=found.pk).update(used_at=at):
            raise CodeRefused("used", found)
        device = known or Device(kind=Device.Kind.PHONE)
        device.name, device.store, device.last_contact = name, found.store, at
        device.save()
        Enrolment.objects.filter(pk=found.pk).update(device=device)
    return device


def revoke(device: Device, at: datetime) -> None:
    """From now on what the phone sends is not the book's, until somebody has looked at it; and whoever signed in on it
    is signed out. Twice is once."""
    Device.objects.live().filter(pk=device.pk).update(revoked_at=at)
    sessions.end_on(device)
