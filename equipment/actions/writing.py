"""How the server's own pages and commands write in the book: as the server's device, through the one writer."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from itertools import count
from typing import Any
from uuid import UUID

import uuid6
from django.db import IntegrityError

from crews.models import User
from crews.models.devices import SERVER_ID
from equipment.domain.verbs import VERBS
from equipment.ledger import Draft, Recorded, Strictness, record

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
TRIES = 3


def new_id() -> UUID:
    """A UUIDv7 (RFC 9562)."""
    return UUID(int=uuid6.uuid7().int)


@dataclass
class Pen:
    """Who writes, in which store's book, and when.

    `at` is the time of recording; entries may carry an earlier `happened_at` (from paper, by simulation). Their numbers
    are the microseconds of it, and how many this pen has drafted: no lock is needed, and a page of this morning that
    is typed in after this evening's still comes before it. `numbers` are a device's own count in place of that.
    """

    by: User
    store: str
    at: datetime
    device: UUID = SERVER_ID
    numbers: Iterator[int] | None = None
    _drafted: Iterator[int] = field(default_factory=count)

    def draft(self, verb: str, *, happened_at: datetime | None = None, **fields: Any) -> Draft:
        """A draft with a new id; for `registered` its own id is the item's. Raises ValidationError (a ValueError)
        where `detail` is not what the verb takes."""
        entry_id = fields.pop("id", None) or new_id()
        detail = VERBS[verb].detail.model_validate(fields.pop("detail", {}))
        if verb == "registered":
            fields["item"] = entry_id
        if getattr(detail, "overridden", ()):
            fields.setdefault("roles", frozenset(self.by.roles))
        return Draft(
            id=entry_id,
            verb=verb,
            store=fields.pop("store", self.store),
            by=self.by.pk,
            device=self.device,
            device_seq=self._number(happened_at or self.at),
            happened_at=happened_at or self.at,
            detail=detail.model_dump(mode="json", by_alias=True, exclude_unset=True),
            **fields,
        )

    def _number(self, at: datetime) -> int:
        if self.numbers is not None:
            return next(self.numbers)
        return max(0, (at - EPOCH) // timedelta(microseconds=1)) + next(self._drafted)

    def record(self, drafts: Sequence[Draft], strictness: Strictness = "hold") -> Recorded:
        """As `ledger.record`; where another writer took a label or a number meanwhile, it looks again."""
        for _ in range(TRIES - 1):
            try:
                return record(drafts, strictness=strictness, at=self.at)
            except IntegrityError:
                continue
        return record(drafts, strictness=strictness, at=self.at)
