"""What did not get into the book: refusals at the counter, and notes that could not be placed yet."""

from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import Q

from crews.models import Device, Store


class Attempt(models.Model):
    """Something asked for under `gate: hold` and refused; kept as evidence, waiting for nobody."""

    entry_id = models.UUIDField()
    at = models.DateTimeField(db_index=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    device = models.ForeignKey(Device, models.PROTECT, related_name="+")
    store = models.ForeignKey(Store, models.PROTECT, null=True, related_name="+")
    verb = models.CharField(max_length=24, blank=True)
    subject = models.CharField(max_length=40, blank=True)
    picker = models.CharField(max_length=40, blank=True)
    codes = models.JSONField(default=list)

    class Meta:
        ordering = ("-at", "-id")

    def __str__(self) -> str:
        return f"{self.verb} {self.subject}: {', '.join(self.codes)}"


class KeptEntryQuerySet(models.QuerySet["KeptEntry"]):
    def waiting(self) -> Self:
        """Neither in the book by now nor left out by a person."""
        return self.filter(placed_at=None, set_aside_at=None)


class KeptEntry(models.Model):
    """A raw entry sent as a note that the book could not take: kept for a person, its id not used up.

    `raw` is the entry as JSON text with everything beyond ASCII escaped, so that even text that no database takes
    (lone surrogates, NUL) survives. Entries whose subject was unknown are tried again when it appears. `roles` are
    those of its author when it came; `revoked`: the phone had been taken off the list, so that an officer decides.
    `decided_by` took it in (`placed_at`) or left it out (`set_aside_at`, with a `why`).
    """

    entry_id = models.UUIDField(null=True, db_index=True)
    raw = models.TextField()
    raw_digest = models.CharField(max_length=64, unique=True)
    code = models.CharField(max_length=24, db_index=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    device = models.ForeignKey(Device, models.PROTECT, related_name="+")
    store = models.ForeignKey(Store, models.PROTECT, null=True, related_name="+")
    skew = models.FloatField(default=0.0)
    received_at = models.DateTimeField()
    placed_at = models.DateTimeField(null=True)
    roles = models.JSONField(default=list)
    revoked = models.BooleanField(default=False)
    set_aside_at = models.DateTimeField(null=True)
    decided_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    why = models.CharField(max_length=200, blank=True)

    objects = KeptEntryQuerySet.as_manager()

    class Meta:
        ordering = ("received_at", "id")
        indexes = [
            models.Index(
                fields=["received_at", "id"],
                name="kept_entries_that_wait",
                condition=Q(placed_at=None, set_aside_at=None),
            )
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.entry_id}"
