"""Times and numbers in addresses and forms: somebody may have copied, shortened or made them up."""

from datetime import datetime
from uuid import UUID

from django.utils import timezone
from django.utils.dateparse import parse_datetime


def moment(text: str) -> datetime | None:
    """The time with its zone, as `isoformat` writes it; None for anything else, and for years that no farm has seen."""
    try:
        at = parse_datetime(text)
    except ValueError:
        return None
    if at is None or timezone.is_naive(at) or not 1970 <= at.year < 2200:
        return None
    return at


def uuid_in(text: str | None) -> UUID | None:
    """The UUID that `text` is; None where it is none."""
    try:
        return UUID(text or "")
    except ValueError:
        return None
