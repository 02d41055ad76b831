"""Projections: what the entries add up to, kept for quick reading. `rebuild_states` can make them all again.

`fold` holds the whole folded value; the columns beside it repeat what lists filter and sort by.
"""

from collections.abc import Iterator
from datetime import date, datetime
from typing import Any, Self

from django.db import models
from django.db.models import Exists, OuterRef, Q
from django.utils.translation import gettext_lazy as _

from crews.models import Block, Crew, Picker, Store
from equipment.models.gear import GearSet, Item
from equipment.models.goods import Goods

# What a thing that falls due is called among the reasons of the gate.
DUE_CODES = {"clean": "cleaning_due", "inspect": "inspection_due", "mend": "mend_overdue"}


class ItemStateQuerySet(models.QuerySet["ItemState"]):
    def out(self) -> Self:
        return self.filter(place__in=("picker", "crew", "orchard"))

    def held_by(self, picker: Picker) -> Self:
        return self.filter(place="picker", picker=picker)

    def fit_at(self, at: datetime) -> Self:
        """Those that nothing keeps here at `at`."""
        return self.filter(fit=True).filter(Q(holds_at=None) | Q(holds_at__gt=at))

    def comes_back_tonight(self) -> Self:
        return self.filter(item__kind__comes_back="tonight")


class ItemState(models.Model):
    """`reasons` are the codes that no time brings (a fault that stops its use, a flag); `due` is what time brings, see
    `equipment.models.deriving`: `due_at` the next cleaning, `holds_at` the first thing that will keep it here. `void`
    says which of its cleanings do not count, and why. `fit` leaves time out: ask `fit_at`."""

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
    holds_at = models.DateTimeField(null=True)
    due = models.JSONField(default=list)
    void = models.JSONField(default=dict)
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
            models.Index(
                fields=["due_at"],
                name="cleanings_due_in_use",
                condition=Q(place__in=("picker", "crew", "orchard"), due_at__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return self.tag

    @property
    def traits(self) -> dict[str, str]:
        return self.item.traits

    def fit_at(self, at: datetime) -> bool:
        """Whether nothing keeps it here at `at`."""
        return self.fit and (self.holds_at is None or self.holds_at > at)

    def holding_at(self, at: datetime) -> list[str]:
        """The codes that keep it here at `at`, each once."""
        fallen_due = [code for code, when in self._times(holding=True) if when <= at]
        return list(dict.fromkeys([*self.reasons, *fallen_due]))

    def reasons_at(self, at: datetime) -> list[str]:
        """The codes that speak against its going out at `at`, each once, those that only warn included."""
        fallen_due = [code for code, when in self._times() if when <= at]
        return list(dict.fromkeys([*self.reasons, *fallen_due]))

    def _times(self, holding: bool = False) -> Iterator[tuple[str, datetime]]:
        for each in self.due:
            if each["at"] and (each["holds"] or not holding):
                yield DUE_CODES[each["what"]], datetime.fromisoformat(each["at"])


class Visit(models.Model):
    """A crew's time in a block, by the fold of that crew; its id is that of the `arrived` entry."""

    id = models.UUIDField(primary_key=True)
    crew = models.ForeignKey(Crew, models.CASCADE, related_name="visits", db_index=False)
    block = models.ForeignKey(Block, models.PROTECT, related_name="+", db_index=False)
    at = models.DateTimeField()
    until = models.DateTimeField(null=True)
    cause = models.CharField(max_length=20, blank=True)

    class Meta:
        ordering = ("at", "id")
        indexes = [
            models.Index(fields=["crew", "at"], name="visits_of_a_crew"),
            models.Index(fields=["block", "at"], name="visits_to_a_block"),
            # The disease trace: those that were not over when the block was reached.
            models.Index(fields=["block", "until"], name="visits_not_over_in_a_block"),
        ]

    def __str__(self) -> str:
        return f"{self.crew_id} in {self.block_id}"


class BathQuerySet(models.QuerySet["BathState"]):
    def standing(self, at: datetime) -> Self:
        """Mixed, not emptied, and not too old at `at`."""
        return self.filter(mixed_at__isnull=False, emptied_at=None).filter(
            Q(good_until=None) | Q(good_until__gt=at)
        )


class BathState(models.Model):
    """A dip bath, by the fold of its entries."""

    bath = models.UUIDField(primary_key=True)
    store = models.ForeignKey(Store, models.PROTECT, null=True, related_name="+", db_index=False)
    recipe = models.CharField(max_length=40, blank=True)
    mixed_at = models.DateTimeField(null=True)
    good_until = models.DateTimeField(null=True)
    emptied_at = models.DateTimeField(null=True)
    fold = models.JSONField(default=dict)

    objects = BathQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["store", "-mixed_at"], name="baths_of_a_store")]

    def __str__(self) -> str:
        return f"{self.recipe} {self.bath}"


class LotQuerySet(models.QuerySet["LotState"]):
    def there(self) -> Self:
        """Received, and not used up."""
        return self.filter(goods__isnull=False, left__gt=0)

    def fresh(self, day: date) -> Self:
        """Not past their date on `day`, the farm's: the date on the package is the last good day."""
        return self.filter(Q(expires_on=None) | Q(expires_on__gte=day))

    def first_to_expire(self) -> Self:
        """What has no date comes last; of equal ones that which came first."""
        return self.order_by(models.F("expires_on").asc(nulls_last=True), "received_at", "lot")


class LotState(models.Model):
    """A lot of counted goods, by the fold of its entries; `left` in the unit of the goods."""

    lot = models.UUIDField(primary_key=True)
    goods = models.ForeignKey(Goods, models.PROTECT, null=True, related_name="lots", db_index=False)
    store = models.ForeignKey(Store, models.PROTECT, null=True, related_name="+", db_index=False)
    lot_number = models.CharField(max_length=200, blank=True)
    expires_on = models.DateField(null=True)
    received_at = models.DateTimeField(null=True)
    counted_at = models.DateTimeField(null=True)
    # Not "left", which is a word of SQL.
    left = models.FloatField(default=0, db_column="quantity_left")
    fold = models.JSONField(default=dict)

    objects = LotQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["store", "goods", "expires_on"], name="lots_of_a_store")]

    def __str__(self) -> str:
        return f"{self.goods_id} {self.lot_number}"

    def past_date(self, day: date) -> bool:
        return self.expires_on is not None and self.expires_on < day


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
    bath = models.ForeignKey(BathState, models.CASCADE, null=True, related_name="discrepancies")
    lot = models.ForeignKey(LotState, models.CASCADE, null=True, related_name="discrepancies")
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
