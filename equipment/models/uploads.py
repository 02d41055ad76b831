"""A file between the look at what it would do and the word to do it."""

import uuid
from datetime import datetime, timedelta
from typing import Self

from django.conf import settings
from django.db import models

KEPT_FOR = timedelta(hours=1)


class UploadQuerySet(models.QuerySet["Upload"]):
    def stale(self, at: datetime) -> Self:
        return self.filter(at__lt=at - KEPT_FOR)


class Upload(models.Model):
    """Kept in the database, not on a disk, because the next request may reach another process. Its owner alone finds
    it, once, within the hour."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    owner = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    kind = models.CharField(max_length=20)
    name = models.CharField(max_length=120)
    data = models.BinaryField()
    at = models.DateTimeField()

    objects = UploadQuerySet.as_manager()

    def __str__(self) -> str:
        return self.name
