"""What did not get into the book: refusals at the counter, and notes that could not be placed yet."""

from django.conf import settings
from django.db import models

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


class KeptEntry(models.Model):
    """A raw entry sent as a note that the book could not take: kept for a person, its id not used up.

    `raw` is the entry as JSON text with everything beyond ASCII escaped, so that even text that no database takes
    (lone surrogates, NUL) survives. Entries whose subject was unknown are tried again when it appears.
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

    class Meta:
        ordering = ("received_at", "id")

    def __str__(self) -> str:
        return f"{self.code} {self.entry_id}"
