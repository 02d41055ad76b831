"""Devices: every browser, phone and token that writes in the book, and the server itself."""

import uuid
from typing import Self

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from crews.models.places import Store

SERVER_ID = uuid.UUID("00000000-0000-7000-8000-000000000000")
# What was ticked on a printed page and typed in afterwards: the book says so for ever.
PAPER_ID = uuid.UUID("00000000-0000-7000-8000-000000000001")


class DeviceQuerySet(models.QuerySet["Device"]):
    def live(self) -> Self:
        return self.filter(revoked_at=None)


class Device(models.Model):
    """A phone says at each contact how much it still has to send: `unsent`, as it last told; None: never told."""

    class Kind(models.TextChoices):
        SERVER = "server", _("the server")
        COUNTER = "counter", _("counter")
        PHONE = "phone", _("phone")
        TOKEN = "token", _("token")
        PAPER = "paper", _("paper")

    id = models.UUIDField(primary_key=True, default=uuid.uuid4)
    kind = models.CharField(_("kind"), max_length=8, choices=Kind)
    name = models.CharField(_("name"), max_length=80, blank=True)
    store = models.ForeignKey(Store, models.SET_NULL, null=True, blank=True, verbose_name=_("store"))
    owner = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.CASCADE, null=True, blank=True, related_name="devices"
    )
    enrolled_at = models.DateTimeField(auto_now_add=True)
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_contact = models.DateTimeField(_("last contact"), null=True, blank=True)
    unsent = models.PositiveIntegerField(_("not sent yet"), null=True, blank=True)

    objects = DeviceQuerySet.as_manager()

    class Meta:
        ordering = ("kind", "name", "id")

    def __str__(self) -> str:
        return self.name or str(self.id)
