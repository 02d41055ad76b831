"""How the server's own pages and commands write in the book: as the server's device, through the one writer."""

import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from itertools import count
from typing import Any
from uuid import UUID

import uuid6

from crews.models import User
from crews.models.devices import SERVER_ID
from equipment.domain.verbs import VERBS
from equipment.ledger import Draft, Recorded, Strictness, record


def new_id() -> UUID:
    """A UUIDv7 (RFC 9562)."""
    return UUID(int=uuid6.uuid7().int)


@dataclass
class Pen:
    """Who writes, in which store's book, and when. Its sequence is the clock's microseconds: it never needs a lock.

    `at` is the time of recording; entries may carry an earlier `happened_at` (from paper, by simulation).
    """

    by: User
    store: str
    at: datetime
    device: UUID = SERVER_ID
    _sequence: count = field(default_factory=lambda: count(time.time_ns() // 1000))  # type: ignore[type-arg]

    def draft(self, verb: str, *, happened_at: datetime | None = None, **fields: Any) -> Draft:
        """A draft with a new id; for `registered` its own id is the item's. Raises ValidationError (a ValueError)
        where `detail` is not what the verb takes."""
        entry_id = fields.pop("id", None) or new_id()
        detail = VERBS[verb].detail.model_validate(fields.pop("detail", {}))
        if verb == "registered":
            fields["item"] = entry_id
        return Draft(
            id=entry_id,
            verb=verb,
            store=fields.pop("store", self.store),
            by=self.by.pk,
            device=self.device,
            device_seq=next(self._sequence),
            happened_at=happened_at or self.at,
            detail=detail.model_dump(mode="json", by_alias=True, exclude_unset=True),
            **fields,
        )

    def record(self, drafts: Sequence[Draft], strictness: Strictness = "hold") -> Recorded:
        return record(drafts, strictness=strictness, at=self.at)
