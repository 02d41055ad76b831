"""The cases of the disease trace: what was asked and found, by whom, and when. A case is kept for good."""

from typing import Self

from django.conf import settings
from django.db import models
from django.db.models import Q

from crews.models import Block
from equipment.domain.disease_trace import Question


class CaseQuerySet(models.QuerySet["Case"]):
    def newest_first(self) -> Self:
        return self.select_related("by", "block").order_by("-number")


class Case(models.Model):
    """`disease` was found in `block`, present `since`; followed to `until`, from block to block `steps` times (None: to
    the end). `found` is what the book said when the case was kept: the `blocks` and the `pieces` that were reached,
    and those `carrying` it still, by code. Pieces are flagged by `flagged` entries that name the case."""

    number = models.BigAutoField(primary_key=True)
    disease = models.CharField(max_length=40)
    block = models.ForeignKey(Block, models.PROTECT, related_name="+")
    since = models.DateTimeField()
    until = models.DateTimeField()
    strict = models.BooleanField(default=True)
    steps = models.PositiveSmallIntegerField(null=True)
    why = models.CharField(max_length=500, blank=True)
    found = models.JSONField(default=dict)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()

    objects = CaseQuerySet.as_manager()

    class Meta:
        ordering = ("-number",)
        constraints = [
            models.CheckConstraint(
                condition=Q(since__lte=models.F("until")), name="a_case_begins_before_it_ends"
            )
        ]

    def __str__(self) -> str:
        return str(self.number)

    @property
    def question(self) -> Question:
        return Question(self.block_id, self.since, self.until, self.strict, self.steps)
