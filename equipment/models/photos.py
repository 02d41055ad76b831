"""Photos of faults, small and without a word on where or by whom they were taken."""

from datetime import datetime

from django.conf import settings
from django.db import models

MOST_KEPT_BYTES = 300_000


class PhotoQuerySet(models.QuerySet["Photo"]):
    def erase(self, at: datetime) -> int:
        """Forget the pictures, not that there were some: entries go on naming them. Returns how many went."""
        return self.filter(erased_at=None).update(data=b"", size=0, erased_at=at)


class Photo(models.Model):
    """One photo, named by the SHA-256 of the file as it was sent, so that an entry can name it before it arrives.

    What is kept is another file: a JPEG made anew, `size` bytes of `width` by `height`. It lies in the database, where
    a backup and every process find it. The chain of the book holds the name only, so a photo can be erased; it does
    not come back when the same file is sent again.
    """

    sha256 = models.CharField(primary_key=True, max_length=64)
    data = models.BinaryField()
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    size = models.PositiveIntegerField()
    uploaded_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    erased_at = models.DateTimeField(null=True)

    objects = PhotoQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(erased_at=None, size__gt=0, size__lte=MOST_KEPT_BYTES)
                | models.Q(erased_at__isnull=False, size=0),
                name="a_photo_is_small_and_erased_is_empty",
            ),
        ]

    def __str__(self) -> str:
        return self.sha256
