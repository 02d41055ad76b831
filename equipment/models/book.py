"""The book: an append-only ledger, kept per store, each entry sealed to the one before it.

It exists because the record must stand up to an auditor, and because counters, phones and paper record the same day
at different times: what is stored is what was seen, and every state shown is a fold of it. Rejected: status columns
changed in place (they cannot explain themselves), one chain for the whole farm (stores would wait for each other),
and event streams per item (an auditor cannot see that a line is missing).

Only `equipment.ledger` inserts here; triggers refuse every other change (`equipment.models.triggers`).
"""

from django.conf import settings
from django.db import models
from django.db.models import Q

from crews.models import Block, Crew, Device, Picker, Store
from equipment.domain.verbs import VERBS
from equipment.models.gear import Item


def _family(name: str) -> list[str]:
    return sorted(verb.name for verb in VERBS.values() if verb.family == name)


class Entry(models.Model):
    id = models.UUIDField(primary_key=True)
    v = models.PositiveSmallIntegerField(default=1)
    store = models.ForeignKey(Store, models.PROTECT, related_name="+")
    position = models.PositiveBigIntegerField()
    verb = models.CharField(max_length=24)
    detail = models.JSONField(default=dict)
    item = models.ForeignKey(Item, models.PROTECT, null=True, related_name="entries", db_index=False)
    crew = models.ForeignKey(Crew, models.PROTECT, null=True, related_name="+", db_index=False)
    bath = models.UUIDField(null=True)
    lot = models.UUIDField(null=True)
    picker = models.ForeignKey(Picker, models.PROTECT, null=True, related_name="+", db_index=False)
    block = models.ForeignKey(Block, models.PROTECT, null=True, related_name="+", db_index=False)
    act = models.UUIDField(null=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+", db_index=False)
    device = models.ForeignKey(Device, models.PROTECT, related_name="+", db_index=False)
    device_seq = models.PositiveBigIntegerField()
    happened_at = models.DateTimeField()
    claimed_at = models.DateTimeField(null=True)
    recorded_at = models.DateTimeField()
    note_digest = models.CharField(max_length=64, null=True)  # noqa: DJ001 absent and empty differ in the digest
    sent_digest = models.CharField(max_length=64, null=True)  # noqa: DJ001
    digest = models.CharField(max_length=64)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["store", "position"], name="positions_of_a_store_are_unique"),
            models.CheckConstraint(
                name="the_verb_fixes_the_subject",
                condition=Q(verb__in=_family("item"), item__isnull=False)
                | Q(verb__in=_family("crew"), item__isnull=True, crew__isnull=False)
                | Q(verb__in=_family("bath"), item__isnull=True, bath__isnull=False)
                | Q(verb__in=_family("any"), item__isnull=False)
                | Q(verb__in=_family("any"), crew__isnull=False)
                | Q(verb__in=_family("lot"), item__isnull=True, bath__isnull=True, lot__isnull=False)
                | Q(verb__in=_family("any"), bath__isnull=False)
                | Q(verb__in=_family("any"), lot__isnull=False),
            ),
            models.CheckConstraint(
                name="handed_out_names_the_crew", condition=~Q(verb="handed_out") | Q(crew__isnull=False)
            ),
            models.CheckConstraint(name="positions_start_at_one", condition=Q(position__gte=1)),
            models.CheckConstraint(
                name="nothing_happens_after_it_is_recorded",
                condition=Q(happened_at__lte=models.F("recorded_at")),
            ),
        ]
        indexes = [
            models.Index(
                fields=["item", "happened_at"], name="life_of_an_item", condition=Q(item__isnull=False)
            ),
            models.Index(
                fields=["crew", "happened_at"],
                name="time_line_of_a_crew",
                condition=Q(crew__isnull=False, item__isnull=True),
            ),
            models.Index(
                fields=["picker", "item", "happened_at"],
                name="usual_gear_of_a_picker",
                condition=Q(picker__isnull=False, verb="handed_out"),
            ),
            models.Index(
                fields=["happened_at"],
                name="handouts_of_a_day",
                condition=Q(verb__in=["handed_out", "reversed"]),
            ),
            models.Index(
                fields=["crew", "happened_at"],
                name="gear_that_a_crew_had",
                condition=Q(crew__isnull=False, verb__in=["handed_out", "returned"]),
            ),
            models.Index(
                fields=["by", "crew"],
                name="crews_taken_over",
                condition=Q(verb="taken_over", item__isnull=True),
            ),
            models.Index(fields=["bath"], name="entries_of_a_bath", condition=Q(bath__isnull=False)),
            models.Index(fields=["lot"], name="entries_of_a_lot", condition=Q(lot__isnull=False)),
            models.Index(fields=["verb", "happened_at", "id"], name="lines_of_a_register"),
            models.Index(fields=["act"], name="entries_of_an_act", condition=Q(act__isnull=False)),
        ]

    def __str__(self) -> str:
        return f"{self.store_id} {self.position} {self.verb}"


class Note(models.Model):
    """The free text of an entry, apart from it so that it can be erased: the chain holds SHA-256(salt, text).

    Erased: `text` and `salt` are empty, `erased_at` is set, and the chain still verifies.
    """

    entry = models.OneToOneField(Entry, models.PROTECT, primary_key=True, related_name="written_note")
    salt = models.CharField(max_length=32)
    text = models.TextField()
    erased_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return self.text


class ChainHead(models.Model):
    """The last position and digest of a store's chain, so that the loss of its last rows is seen too."""

    store = models.OneToOneField(Store, models.PROTECT, primary_key=True, related_name="chain_head")
    position = models.PositiveBigIntegerField(default=0)
    digest = models.CharField(max_length=64, default="0" * 64)
    entry_id = models.UUIDField(null=True)

    def __str__(self) -> str:
        return f"{self.store_id} {self.position}"
