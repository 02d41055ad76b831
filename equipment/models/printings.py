"""What was printed of a register: so that it can be made again, and the paper be checked against the book."""

from django.conf import settings
from django.db import models

from equipment.domain import codes
from equipment.models.registers import Asked, Heads


class Printing(models.Model):
    """`asked` is `Asked.plain()`, `heads` store -> [position, digest]; `digest` is SHA-256 over what was asked, the
    heads and the canonical lines, each ended by a newline (`actions/print_register.py`). `by` None: the server, for
    cron. Its code stands on the paper."""

    class Form(models.TextChoices):
        PDF = "pdf", "PDF"
        XLSX = "xlsx", "XLSX"
        CSV = "csv", "CSV"

    number = models.BigAutoField(primary_key=True)
    register = models.CharField(max_length=30)
    # Of the register, as it was then.
    version = models.PositiveSmallIntegerField(default=1)
    asked = models.JSONField()
    heads = models.JSONField()
    lines = models.PositiveIntegerField()
    digest = models.CharField(max_length=64)
    form = models.CharField(max_length=4, choices=Form)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ("-number",)

    def __str__(self) -> str:
        return self.code

    @property
    def code(self) -> str:
        return codes.make(codes.PRINTING, self.number)

    @property
    def what(self) -> Asked:
        return Asked.read(self.asked)

    @property
    def at_heads(self) -> Heads:
        return {store: (position, digest) for store, (position, digest) in self.heads.items()}
