"""An item, a card or a crew is new: notes that named it before it was known are tried again."""

from collections.abc import Iterable

from django.db import transaction
from django.utils import timezone

from equipment.actions.receive import retry_kept


def appeared(codes: Iterable[str]) -> None:
    """Say this where codes come into being, or a picker comes into a crew (then the codes of their cards).

    It waits until that is committed, and asks the time then: what is tried again is recorded later than it. `codes`
    may be a queryset; it is read only where something waits.
    """
    transaction.on_commit(lambda: _try(codes), robust=True)


def _try(codes: Iterable[str]) -> None:
    retry_kept(codes, timezone.now())
