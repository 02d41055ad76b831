"""Projections: what the entries add up to, kept for quick reading. `rebuild_states` can make them all again.

`fold` holds the whole folded value; the columns beside it repeat what lists filter and sort by.
"""

from typing import Any, Self

from django.db import models
from django.db.models import Exists, OuterRef, Q
from django.utils.translation import gettext_lazy as _

from crews.models import Block, Crew, Picker, Store
from equipment.models.gear import GearSet, Item


class ItemStateQuerySet(models.QuerySet["ItemState"]):
    def out(self) -> Self:
        return self.filter(place__in=("picker", "crew", "orchard"))

    def held_by(self, picker: Picker) -> Self:
        return self.filter(place="picker", picker=picker)

    def comes_back_tonight(self) -> Self:
        return self.filter(item__kind__comes_back="tonight")


class ItemState(models.Model):
    class Place(models.TextChoices):
        STORE = "store", _("in the store")
        PICKER = "picker", _("with a picker")
        CREW = "crew", _("with a crew")
        ORCHARD = "orchard", _("in the orchard")
        BENCH = "bench", _("on the bench")
        MISSING = "missing", _("missing")
        GONE = "gone", _("gone")

    item = models.OneToOneField(Item, models.CASCADE, primary_key=True, related_name="state")
    tag = models.CharField(max_length=20, db_index=True)
    place = models.CharField(max_length=8, choices=Place)
    store = models.ForeignKey(Store, models.PROTECT, null=True, related_name="+", db_index=False)
    picker = models.ForeignKey(Picker, models.PROTECT, null=True, related_name="+", db_index=False)
    crew = models.ForeignKey(Crew, models.PROTECT, null=True, related_name="+", db_index=False)
    block = models.ForeignKey(Block, models.PROTECT, null=True, related_name="+", db_index=False)
    packed_in = models.ForeignKey(GearSet, models.PROTECT, null=True, related_name="+", db_index=False)
    since = models.DateTimeField(null=True)
    wet = models.BooleanField(default=False)
    fit = models.BooleanField(default=False)
    reasons = models.JSONField(default=list)
    due_at = models.DateTimeField(null=True)
    fold = models.JSONField(default=dict)

    objects = ItemStateQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(
                fields=["picker"], name="gear_of_a_picker", condition=Q(place="picker", picker__isnull=False)
            ),
            models.Index(fields=["crew", "place"], name="gear_of_a_crew", condition=Q(crew__isnull=False)),
            models.Index(fields=["place", "since"], name="gear_by_place"),
            models.Index(fields=["store", "place"], name="gear_of_a_store"),
            models.Index(
                fields=["packed_in"], name="contents_of_a_set", condition=Q(packed_in__isnull=False)
            ),
        ]

    def __str__(self) -> str:
        return self.tag

    @property
    def traits(self) -> dict[str, str]:
        return self.item.traits


class CrewState(models.Model):
    crew = models.OneToOneField(Crew, models.CASCADE, primary_key=True, related_name="state")
    fold = models.JSONField(default=dict)

    def __str__(self) -> str:
        return str(self.crew_id)


class MembershipQuerySet(models.QuerySet["Membership"]):
    def current(self) -> Self:
        """One row a picker: the crew they joined last, of those they have not left."""
        later = Membership.objects.filter(picker=OuterRef("picker")).filter(
            Q(since__gt=OuterRef("since")) | Q(since=OuterRef("since"), crew__gt=OuterRef("crew"))
        )
        return self.filter(~Exists(later))


class Membership(models.Model):
    """`picker` is in `crew` since `since`, by the fold of that crew."""

    crew = models.ForeignKey(Crew, models.CASCADE, related_name="memberships")
    picker = models.ForeignKey(Picker, models.CASCADE, related_name="memberships")
    since = models.DateTimeField()

    objects = MembershipQuerySet.as_manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["crew", "picker"], name="a_picker_is_in_a_crew_once")]
        indexes = [models.Index(fields=["picker", "-since"], name="crews_of_a_picker")]

    def __str__(self) -> str:
        return f"{self.picker_id} in {self.crew_id}"

    @staticmethod
    def crew_of(picker: str) -> Any:
        """A subquery for the code of the picker's current crew; `picker` is the outer query's path to the id."""
        rows = Membership.objects.filter(picker=OuterRef(picker)).order_by("-since", "-crew_id")
        return models.Subquery(rows.values("crew")[:1])


class Discrepancy(models.Model):
    """A contradiction that the fold of a subject yields; `settled` once a person closed it."""

    item = models.ForeignKey(Item, models.CASCADE, null=True, related_name="discrepancies")
    crew = models.ForeignKey(Crew, models.CASCADE, null=True, related_name="discrepancies")
    code = models.CharField(max_length=24)
    entry_id = models.UUIDField()
    settled = models.BooleanField(default=False)

    class Meta:
        ordering = ("entry_id",)
        constraints = [
            models.UniqueConstraint(fields=["code", "entry_id"], name="a_discrepancy_is_listed_once")
        ]
        indexes = [models.Index(fields=["settled", "entry_id"], name="discrepancies_to_settle")]

    def __str__(self) -> str:
        return self.key

    @property
    def key(self) -> str:
        return f"{self.code}:{self.entry_id}"
