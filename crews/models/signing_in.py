"""Who is signed in where, and the PINs by which a storeman or supervisor signs in at a device of the farm."""

from typing import Self

from django.conf import settings
from django.contrib.sessions.models import Session
from django.db import models
from django.utils.translation import gettext_lazy as _

from crews.models.devices import Device


class Pin(models.Model):
    """`digest` is what `crews.pins` makes of the six digits; `wrong` counts the tries since it last fitted."""

    user = models.OneToOneField(
        settings.AUTH_USER_MODEL, models.CASCADE, primary_key=True, related_name="pin"
    )
    digest = models.CharField(max_length=200)
    set_at = models.DateTimeField()
    wrong = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        return str(self.user_id)


class SignInQuerySet(models.QuerySet["SignIn"]):
    def end(self) -> int:
        """End these sessions at once: the next request of their browsers is a stranger's. How many there were."""
        keys = list(self.values_list("session", flat=True))
        Session.objects.filter(pk__in=keys).delete()
        return len(keys)

    def but(self, key: str | None) -> Self:
        return self.exclude(session=key) if key else self


class SignIn(models.Model):
    """Goes with its session. `device` None: at a browser that is none of the farm's devices."""

    class How(models.TextChoices):
        PASSWORD = "password", _("password")
        PIN = "pin", _("PIN")
        CODE = "code", _("password and code")

    session = models.OneToOneField(Session, models.CASCADE, primary_key=True, related_name="sign_in")
    user = models.ForeignKey(settings.AUTH_USER_MODEL, models.CASCADE, related_name="sign_ins")
    device = models.ForeignKey(Device, models.SET_NULL, null=True, related_name="sign_ins")
    how = models.CharField(_("how"), max_length=8, choices=How)
    begun_at = models.DateTimeField()

    objects = SignInQuerySet.as_manager()

    def __str__(self) -> str:
        return f"{self.user_id} {self.begun_at}"
