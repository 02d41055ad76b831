"""Stocktakes: what was expected in a store at a moment, and the labels that the book does not know.

What was seen, and how a surprise was settled, are entries whose `act` is the stocktake; nothing here repeats them
until it ends. Then what was found is kept as it was (`result`), so that the paper says the same for ever.
"""

from django.conf import settings
from django.db import models
from django.db.models import Q

from crews.models import Store
from equipment.models.gear import Item


class Stocktake(models.Model):
    """`kinds` are the codes of those that are counted, [] for all. `begun_heads` and `ended_heads` are the heads of all
    chains then: store -> [position, digest]. `result` is a list of plain lines, see `equipment.models.stocktaking`."""

    id = models.UUIDField(primary_key=True)
    store = models.ForeignKey(Store, models.PROTECT, related_name="+")
    kinds = models.JSONField(default=list)
    begun_at = models.DateTimeField()
    begun_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    begun_heads = models.JSONField(default=dict)
    ended_at = models.DateTimeField(null=True)
    ended_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    ended_heads = models.JSONField(default=dict)
    why_open = models.TextField(blank=True)
    result = models.JSONField(default=dict)

    class Meta:
        ordering = ("-begun_at", "-id")
        constraints = [
            models.UniqueConstraint(
                fields=["store"], name="one_open_stocktake_in_a_store", condition=Q(ended_at=None)
            )
        ]
        indexes = [models.Index(fields=["-begun_at", "-id"], name="stocktakes_newest_first")]

    def __str__(self) -> str:
        return f"{self.store_id} {self.begun_at:%Y-%m-%d}"


class ExpectedPiece(models.Model):
    """A piece that lay in the store by the book when the stocktake began; `place` says whether on its bench."""

    stocktake = models.ForeignKey(Stocktake, models.CASCADE, related_name="expected", db_index=False)
    item = models.ForeignKey(Item, models.PROTECT, related_name="+")
    place = models.CharField(max_length=8)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["stocktake", "item"], name="a_piece_is_expected_once_at_a_stocktake"
            )
        ]

    def __str__(self) -> str:
        return str(self.item_id)


class UnknownTag(models.Model):
    """A label that names nothing in the book, as it was scanned. `id` is made by whoever scans. `choice` is one of
    `domain.stocktake.OF_UNKNOWN`; what it became is `item` and the line `entry`."""

    id = models.UUIDField(primary_key=True)
    stocktake = models.ForeignKey(Stocktake, models.CASCADE, related_name="unknown", db_index=False)
    text = models.CharField(max_length=40)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    choice = models.CharField(max_length=12, blank=True)
    item = models.ForeignKey(Item, models.PROTECT, null=True, related_name="+")
    entry = models.UUIDField(null=True)
    settled_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    settled_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ("at", "id")
        constraints = [
            models.UniqueConstraint(
                fields=["stocktake", "text"], name="an_unknown_tag_is_kept_once_at_a_stocktake"
            )
        ]

    def __str__(self) -> str:
        return self.text
