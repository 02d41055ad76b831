"""A phone has made itself heard: when, and how much it said it still has to send."""

from datetime import datetime, timedelta

from crews.models import Device
from equipment import ledger

AT_MOST_EVERY = timedelta(minutes=1)
MOST_DIGITS = 6


def hear(device: Device, told: str | None, at: datetime) -> None:
    """Write the contact down. `told` is the header `X-Unsent`: a count, or anything.

    At most once a minute for each phone, so that a day's batches cost one write and not twenty; but a phone that has
    sent the last of it is never shown as if it had not. Other devices than phones cost nothing here.
    """
    if device.kind != Device.Kind.PHONE:
        return
    unsent = _count(told)
    due = device.last_contact is None or at - device.last_contact >= AT_MOST_EVERY
    if due or (unsent == 0 and device.unsent != 0):
        fresh = {"last_contact": at} | ({} if unsent is None else {"unsent": unsent})
        with ledger.writing():
            Device.objects.filter(pk=device.pk).update(**fresh)


def _count(told: str | None) -> int | None:
    good = told is not None and told.isascii() and told.isdigit() and len(told) <= MOST_DIGITS
    return int(told) if good and told is not None else None
