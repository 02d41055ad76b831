"""Counted goods: what is used up and counted, not tagged. Plasters, thread, springs, test strips, disinfectant."""

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _


class Goods(models.Model):
    """`load_catalogue` fills the table; the farm may add its own and say below how much is `low` (in the unit, what
    one store has that is not past its date; empty: never low). `agent` and `strength_pct` of a disinfectant: what dip
    baths are mixed of it. Entries name the code for ever."""

    class Unit(models.TextChoices):
        PIECE = "piece", _("pieces")
        PAIR = "pair", _("pairs")
        ROLL = "roll", _("rolls")
        METRE = "metre", _("metres")
        LITRE = "litre", _("litres")
        KILOGRAM = "kilogram", _("kilograms")

    class Used(models.TextChoices):
        FIRST_AID = "first_aid", _("first aid")
        MEND = "mend", _("mending")
        BATH = "bath", _("dip baths")
        HANDS = "hands", _("hands and hygiene")
        OTHER = "other", _("other")

    code = models.CharField(_("code"), max_length=40, primary_key=True)
    name = models.CharField(_("name"), max_length=60)
    unit = models.CharField(_("counted in"), max_length=8, choices=Unit)
    used_for = models.CharField(_("used for"), max_length=9, choices=Used)
    low = models.FloatField(_("low below"), null=True, blank=True)
    agent = models.CharField(_("disinfectant"), max_length=40, blank=True)
    strength_pct = models.FloatField(_("strength in %"), null=True, blank=True)
    own = models.BooleanField(
        _("changed by the farm"),
        default=False,
        help_text=_("Kept as it is when the catalogue is loaded again."),
    )
    position = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ("position", "code")
        constraints = [
            models.CheckConstraint(name="low_is_above_zero", condition=Q(low=None) | Q(low__gt=0)),
        ]

    def __str__(self) -> str:
        return gettext(self.name) if self.name else self.code

    @property
    def whole(self) -> bool:
        """Whether nobody gives half of one."""
        return self.unit in (self.Unit.PIECE, self.Unit.PAIR)
