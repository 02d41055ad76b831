"""One-time codes by which a phone is enrolled: made in the office, scanned on the phone, good for a quarter of an hour.

The code is kept as it is: it lives for minutes, serves once, and only for somebody who is signed in.
"""

from datetime import datetime
from typing import Literal, Self

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from crews.models.devices import Device
from crews.models.places import Store

Standing = Literal["open", "used", "expired"]


class EnrolmentQuerySet(models.QuerySet["Enrolment"]):
    def open(self, at: datetime) -> Self:
        return self.filter(used_at=None, expires_at__gt=at)


class Enrolment(models.Model):
    """`device` is the phone that used the code up."""

    code = models.CharField(max_length=12, unique=True)
    store = models.ForeignKey(Store, models.CASCADE, related_name="+")
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="+")
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)
    device = models.ForeignKey(Device, models.SET_NULL, null=True, related_name="enrolments")

    objects = EnrolmentQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(expires_at__gt=F("made_at")), name="an_enrolment_code_lives_for_a_while"
            )
        ]

    def __str__(self) -> str:
        return self.code

    def standing(self, at: datetime) -> Standing:
        if self.used_at is not None:
            return "used"
        return "open" if at < self.expires_at else "expired"
