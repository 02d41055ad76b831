"""What comes in and what is answered."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any, Literal

from crews.models import Device, User
from equipment.domain import values
from equipment.ledger import Strictness
from equipment.models import ChainHead

SKEW_TOLERATED = timedelta(seconds=120)


@dataclass(frozen=True, slots=True)
class Batch:
    """`store` is the code of the store whose book is written; `received_at` the server's time when it came, UTC;
    `recorded_at` the time it is written, where that is later."""

    by: User
    device: Device
    store: str
    strictness: Strictness
    sent_at: datetime
    received_at: datetime
    entries: Sequence[Any]
    recorded_at: datetime | None = None

    @property
    def skew(self) -> timedelta:
        """What to add to this device's times: nothing while it is less than two minutes wrong."""
        off = self.received_at - self.sent_at
        return off if abs(off) > SKEW_TOLERATED else timedelta(0)


@dataclass(frozen=True, slots=True)
class Answer:
    """What became of one entry. `codes` say why it was refused, the weightiest first, or what the gate had to say of
    what was recorded; `params` fill the words that go with them; `state` is as in `shown`."""

    id: str
    outcome: Literal["recorded", "known", "refused"]
    verb: str = ""
    codes: tuple[str, ...] = ()
    params: Mapping[str, Any] = field(default_factory=dict)
    discrepancies: tuple[values.Discrepancy, ...] = ()
    state: Any = None


@dataclass(frozen=True, slots=True)
class Received:
    answers: tuple[Answer, ...]
    heads: Mapping[str, ChainHead]
