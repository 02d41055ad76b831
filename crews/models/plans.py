"""Day plans: which crew picks which block on which day, and how."""

from django.conf import settings
from django.db import models
from django.utils.translation import gettext_lazy as _

from crews.models.people import Crew
from crews.models.places import Block


class DayPlan(models.Model):
    class Part(models.TextChoices):
        DAY = "day", _("whole day")
        MORNING = "morning", _("morning")
        AFTERNOON = "afternoon", _("afternoon")

    class State(models.TextChoices):
        PLANNED = "planned", _("planned")
        CHANGED = "changed", _("changed")
        STOPPED = "stopped", _("stopped")
        CANCELLED = "cancelled", _("cancelled")

    date = models.DateField(_("date"))
    part = models.CharField(_("part of day"), max_length=9, choices=Part, default=Part.DAY)
    crew = models.ForeignKey(Crew, models.CASCADE, verbose_name=_("crew"), related_name="plans")
    block = models.ForeignKey(Block, models.PROTECT, verbose_name=_("block"), related_name="plans")
    clipped = models.BooleanField(_("clipped"), default=True)
    state = models.CharField(_("state"), max_length=9, choices=State, default=State.PLANNED)

    class Meta:
        ordering = ("date", "crew", "part")
        constraints = [
            models.UniqueConstraint(
                fields=["date", "crew", "part"], name="one_plan_for_a_crew_and_part_of_day"
            )
        ]

    def __str__(self) -> str:
        return f"{self.date} {self.crew_id} {self.block_id}"


class DayPlanChange(models.Model):
    """Why a plan was changed, stopped or cancelled, kept for as long as the plan is."""

    plan = models.ForeignKey(DayPlan, models.CASCADE, related_name="changes")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    state = models.CharField(max_length=9, choices=DayPlan.State)
    why = models.CharField(_("why"), max_length=200)

    class Meta:
        ordering = ("at", "id")

    def __str__(self) -> str:
        return self.why
