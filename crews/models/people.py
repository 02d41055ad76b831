"""Users of the book, crews and pickers. The book itself holds only opaque ids of pickers; names live here."""

from collections.abc import Iterable
from datetime import datetime

from django.contrib.auth.models import AbstractUser
from django.db import models
from django.utils.functional import cached_property
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from crews.models.places import Store


class User(AbstractUser):
    """Someone who signs in; what they may do follows from their groups, see `crews.policy`."""

    store = models.ForeignKey(Store, models.SET_NULL, null=True, blank=True, verbose_name=_("store"))
    mailed = models.BooleanField(_("Mail me what is overdue in my crews"), default=False)
    # "": as this browser, or the farm, has it.
    language = models.CharField(_("language"), max_length=12, blank=True, default="")

    # Until then the password, which others know, opens the door to choose one's own: `crews.starting`.
    starting_until = models.DateTimeField(null=True, blank=True, editable=False)

    @cached_property
    def roles(self) -> frozenset[str]:
        return frozenset(self.groups.values_list("name", flat=True))

    def set_password(self, raw_password: str | None) -> None:
        """Whoever sets it, here or at the shell, it is no starting password unless `crews.starting` says so."""
        super().set_password(raw_password)
        self.starting_until = None


class Crew(models.Model):
    """A team of pickers under one supervisor, drawing its gear from one store. `code` is also its tag."""

    code = models.CharField(_("code"), max_length=20, primary_key=True)
    name = models.CharField(_("name"), max_length=80, unique=True)
    store = models.ForeignKey(Store, models.PROTECT, verbose_name=_("store"), related_name="crews")
    supervisor = models.ForeignKey(
        User, models.SET_NULL, null=True, blank=True, verbose_name=_("supervisor"), related_name="crews"
    )
    active = models.BooleanField(_("active"), default=True)

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        return self.name

    @property
    def leader(self) -> str:
        """The supervisor's name for pages and paper, "" where there is none."""
        return (self.supervisor.get_full_name() or self.supervisor.get_username()) if self.supervisor else ""


class FormerLead(models.Model):
    """`user` was the supervisor of `crew` until `until`, not included: a phone that comes back to the line tells of
    that time, when it was theirs to tell."""

    crew = models.ForeignKey(Crew, models.CASCADE, related_name="former_leads")
    user = models.ForeignKey(User, models.CASCADE, related_name="+", db_index=False)
    until = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["user", "until"], name="crews_led_once")]

    def __str__(self) -> str:
        return f"{self.user_id} {self.crew_id} {self.until}"

    @classmethod
    def note(cls, crews: Iterable[Crew], at: datetime) -> None:
        """Write down who led these crews until now, where another supervisor is about to be saved."""
        wanted = {crew.pk: crew.supervisor_id for crew in crews}
        before = Crew.objects.filter(pk__in=wanted, supervisor__isnull=False)
        cls.objects.bulk_create(
            cls(crew_id=code, user_id=user, until=at)
            for code, user in before.values_list("pk", "supervisor")
            if user != wanted[code]
        )


class Picker(models.Model):
    """A seasonal picker. `number` is the farm's own; which crew they are in is a fold of the book. An erased one has no
    `name`, and of the `number` only what the book itself calls them."""

    class Hand(models.TextChoices):
        RIGHT = "right", _("right")
        LEFT = "left", _("left")

    number = models.CharField(_("number"), max_length=20, unique=True)
    name = models.CharField(_("name"), max_length=120)
    hand = models.CharField(_("cuts with"), max_length=5, choices=Hand, blank=True)
    glove_size = models.CharField(_("glove size"), max_length=10, blank=True)
    boot_size = models.CharField(_("boot size"), max_length=10, blank=True)
    overall_size = models.CharField(_("overall size"), max_length=10, blank=True)

    class Meta:
        ordering = ("name", "id")
        indexes = [models.Index(fields=["name", "id"], name="picker_by_name")]

    def __str__(self) -> str:
        return self.name

    @property
    def called(self) -> str:
        """The name, or that it was erased."""
        return self.name or gettext("erased")
