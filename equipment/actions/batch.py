"""What comes in and what is answered."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from itertools import groupby
from typing import Any, Literal

from crews.models import Device, User
from equipment.domain import values
from equipment.domain.gate import Reason
from equipment.ledger import Strictness
from equipment.models import ChainHead

SKEW_TOLERATED = timedelta(seconds=120)
# A counter waits for so many entries of a phone, not for all that it tells. Larger parts cost less in all, so they are
# small only while counters are at work.
AT_ONCE, BESIDE_COUNTERS = 250, 25


@dataclass(frozen=True, slots=True)
class Batch:
    """`store` is the code of the store whose book is written; `received_at` the server's time when it came, UTC;
    `recorded_at` the time it is written, where that is later; `vouched`: an officer lets it in, whoever wrote it."""

    by: User
    device: Device
    store: str
    strictness: Strictness
    sent_at: datetime
    received_at: datetime
    entries: Sequence[Any]
    recorded_at: datetime | None = None
    vouched: bool = False

    @property
    def skew(self) -> timedelta:
        """What to add to this device's times: nothing while it is less than two minutes wrong."""
        off = self.received_at - self.sent_at
        return off if abs(off) > SKEW_TOLERATED else timedelta(0)

    def parts(self, at_once: int) -> Iterator["Batch"]:
        """The batch in parts of about `at_once` entries to record one by one, so that a counter waits for one of them
        only. Notes are facts each by itself, but an act stays whole; what a counter sends is decided together."""
        if self.strictness == "hold" or len(self.entries) <= at_once:
            yield self
            return
        part: list[Any] = []
        for _, together in groupby(self.entries, key=_act):
            part += together
            if len(part) >= at_once:
                yield replace(self, entries=part)
                part = []
        if part:
            yield replace(self, entries=part)


def _act(entry: Any) -> Any:
    """What tells the act that an entry was sent with; of one that has none, something of its own."""
    act = entry.get("act") if isinstance(entry, Mapping) else None
    return act if isinstance(act, str) else object()


@dataclass(frozen=True, slots=True)
class Answer:
    """What became of one entry. `codes` say why it was refused, the weightiest first, or what the gate had to say of
    what was recorded; `params` fill the words that go with them; `state` is as in `shown`; `reasons` are the gate's.

    `overridden` are codes that whoever sent it took upon themselves; `may_override` says of a refused hand-out whether
    they could, with a written why: None where that is no question."""

    id: str
    outcome: Literal["recorded", "known", "refused"]
    verb: str = ""
    codes: tuple[str, ...] = ()
    params: Mapping[str, Any] = field(default_factory=dict)
    discrepancies: tuple[values.Discrepancy, ...] = ()
    state: Any = None
    reasons: tuple[Reason, ...] = ()
    overridden: tuple[str, ...] = ()
    may_override: bool | None = None


@dataclass(frozen=True, slots=True)
class Received:
    answers: tuple[Answer, ...]
    heads: Mapping[str, ChainHead]
