"""Sampling audits: the lot as it was, the pieces drawn from it, and each answer that was given.

What an answer says of a piece is in the book: its entries carry the audit's `act`. The rows here say which pieces were
drawn, and which were not there when somebody came to look: of those there is nothing to tell the book.
"""

from dataclasses import dataclass
from typing import Self
from uuid import UUID

from django.conf import settings
from django.db import models
from django.db.models import Count, F, Q, QuerySet
from django.utils.translation import gettext_lazy as _

from crews.models import Store
from equipment.domain.audit import Answers, Question
from equipment.models.gear import Item, Kind
from equipment.models.states import ItemState

GOOD, FAULTY, ABSENT = "good", "faulty", "absent"


class Where(models.TextChoices):
    STORE = "store", _("in the store or on the bench now")
    FARM = "farm", _("all that are not gone or missing, wherever they are")


@dataclass(frozen=True, slots=True)
class Lot:
    """Which pieces are asked about: codes and texts, "" where it does not matter."""

    kind: str
    store: str = ""
    where: str = Where.STORE
    make: str = ""
    size: str = ""
    delivery: str = ""

    def rows(self) -> QuerySet[ItemState]:
        """What belongs to the lot now. A piece that is marked missing can be looked at by nobody: it is left out."""
        if self.where == Where.STORE:
            return self._of().filter(place__in=("store", "bench"))
        return self._of().exclude(place__in=("gone", "missing"))

    def missing(self) -> QuerySet[ItemState]:
        """Those that are left out because they are marked missing."""
        return self._of().filter(place="missing")

    def _of(self) -> QuerySet[ItemState]:
        wanted = {
            "store": self.store,
            "item__make": self.make,
            "item__size": self.size,
            "item__delivery": self.delivery,
        }
        given = {name: value for name, value in wanted.items() if value}
        return ItemState.objects.filter(item__kind=self.kind, **given)


class AuditQuerySet(models.QuerySet["Audit"]):
    def counted(self) -> Self:
        """The newest first, with `good`, `faulty_ones` and `absent`: how many of the sample are answered so."""
        standing = Q(pieces__answers__undone_at=None)
        counted = self.annotate(
            **{
                name: Count("pieces__answers", filter=standing & Q(pieces__answers__said=said))
                for name, said in (("good", GOOD), ("faulty_ones", FAULTY), ("absent", ABSENT))
            }
        )
        # Counting makes groups, and groups forget the order that the table has by itself.
        return counted.order_by("-number")


class Audit(models.Model):
    """One audit. `lot` are the sorted tags that it was drawn from, `count` how many; `sample` pieces were drawn by
    `seed`, all of them where `every`. `share` is the share in per cent that was asked about, null where it was a
    number; `faulty` the number that is meant. `left_out` pieces are marked missing. `why`: closed unfinished."""

    number = models.BigAutoField(primary_key=True)
    act = models.UUIDField(unique=True)
    kind = models.ForeignKey(Kind, models.PROTECT, related_name="+")
    store = models.ForeignKey(Store, models.PROTECT, null=True, related_name="+")
    where = models.CharField(max_length=5, choices=Where)
    make = models.CharField(max_length=60, blank=True)
    size = models.CharField(max_length=20, blank=True)
    delivery = models.CharField(max_length=60, blank=True)
    share = models.DecimalField(max_digits=5, decimal_places=2, null=True)
    faulty = models.PositiveIntegerField()
    sure = models.DecimalField(max_digits=4, decimal_places=2)
    every = models.BooleanField(default=False)
    lot = models.JSONField()
    count = models.PositiveIntegerField()
    left_out = models.PositiveIntegerField(default=0)
    sample = models.PositiveIntegerField()
    seed = models.PositiveBigIntegerField()
    drawn_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    drawn_at = models.DateTimeField()
    closed_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    closed_at = models.DateTimeField(null=True)
    why = models.CharField(max_length=500, blank=True)

    objects = AuditQuerySet.as_manager()

    class Meta:
        ordering = ("-number",)
        constraints = [
            models.CheckConstraint(
                condition=Q(sample__gte=1, sample__lte=F("count"), faulty__gte=1, faulty__lte=F("count")),
                name="an_audit_looks_at_some_of_its_lot",
            ),
            models.CheckConstraint(
                condition=Q(closed_at=None, closed_by=None)
                | Q(closed_at__isnull=False, closed_by__isnull=False),
                name="an_audit_is_closed_by_somebody",
            ),
        ]

    def __str__(self) -> str:
        return f"Audit {self.number}"

    @property
    def question(self) -> Question:
        return Question(self.count, self.faulty, self.sure, self.every)

    def answers(self, faulty: int, absent: int) -> Answers:
        return Answers(self.sample, faulty, absent)


class AuditPiece(models.Model):
    """A piece of the sample: the `turn`th that was drawn, under the `tag` that it wore then."""

    audit = models.ForeignKey(Audit, models.PROTECT, related_name="pieces", db_index=False)
    item = models.ForeignKey(Item, models.PROTECT, related_name="+")
    tag = models.CharField(max_length=20)
    turn = models.PositiveIntegerField()

    class Meta:
        ordering = ("turn",)
        constraints = [
            models.UniqueConstraint(fields=["audit", "item"], name="a_piece_is_drawn_once"),
            models.UniqueConstraint(fields=["audit", "turn"], name="one_piece_a_turn"),
        ]

    def __str__(self) -> str:
        return self.tag


class AuditAnswer(models.Model):
    """What was found of a piece of the sample, and the `entries` (ids) that say so in the book: none of what was not
    there. Never changed but by being taken back."""

    class Said(models.TextChoices):
        GOOD = GOOD, _("good")
        FAULTY = FAULTY, _("faulty")
        ABSENT = ABSENT, _("not there")

    piece = models.ForeignKey(AuditPiece, models.PROTECT, related_name="answers")
    said = models.CharField(max_length=6, choices=Said)
    faults = models.JSONField(default=list)
    entries = models.JSONField(default=list)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    undone_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    undone_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ("at", "pk")
        constraints = [
            models.UniqueConstraint(
                fields=["piece"], condition=Q(undone_at=None), name="one_standing_answer_a_piece"
            )
        ]

    def __str__(self) -> str:
        return f"{self.piece}: {self.said}"

    @property
    def lines(self) -> list[UUID]:
        return [UUID(entry) for entry in self.entries]
