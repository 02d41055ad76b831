"""Badges: cards with a code, lent to a picker from a day to a day.

A card and its loan are two rows because cards outlive loans: a day card serves another person every day, a lost
card must stay known (and dead), and an entry scanned last week must still name who held the card then.
"""

from datetime import date
from typing import Self

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from crews.models.people import Picker


class Badge(models.Model):
    code = models.CharField(_("code"), max_length=20, primary_key=True)
    day_card = models.BooleanField(_("day card"), default=False)
    died_on = models.DateField(_("dead since"), null=True, blank=True)
    why = models.CharField(_("why"), max_length=120, blank=True)

    class Meta:
        ordering = ("code",)

    def __str__(self) -> str:
        return self.code


class BadgeLoanQuerySet(models.QuerySet["BadgeLoan"]):
    def on(self, day: date) -> Self:
        """Loans in force on `day`, both ends included, of cards that were alive then."""
        return self.filter(
            Q(to_day=None) | Q(to_day__gte=day),
            Q(badge__died_on=None) | Q(badge__died_on__gt=day),
            from_day__lte=day,
        )


class BadgeLoan(models.Model):
    """`badge` lent to `picker` from `from_day` to `to_day`, both included; None means until further notice."""

    badge = models.ForeignKey(Badge, models.PROTECT, related_name="loans")
    picker = models.ForeignKey(Picker, models.CASCADE, related_name="loans")
    from_day = models.DateField()
    to_day = models.DateField(null=True, blank=True)

    objects = BadgeLoanQuerySet.as_manager()

    class Meta:
        ordering = ("-from_day", "-id")
        constraints = [
            models.UniqueConstraint(
                fields=["badge"], condition=Q(to_day=None), name="a_badge_has_one_open_loan"
            ),
            models.CheckConstraint(
                condition=Q(to_day=None) | Q(to_day__gte=F("from_day")), name="a_loan_ends_after_it_begins"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.badge_id} {self.from_day}"
