"""What goes into `record` and what comes out."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Literal
from uuid import UUID

from equipment.domain import values
from equipment.domain.condition import Condition
from equipment.domain.gate import Reason
from equipment.models import ChainHead

Strictness = Literal["hold", "note"]
Subject = tuple[str, Any]


@dataclass(frozen=True, slots=True)
class Draft:
    """An entry before it is recorded, every reference resolved and `detail` checked by its verb.

    `item` of a `registered` draft is the draft's own id. `against` are codes found while resolving (a picker who has
    left) that stop the draft under `hold` and are kept with it under `note`. `wants` are the picker's sizes, `roles`
    those of whoever records: what they may override.
    `sent_digest` seals the content as it was sent, so that sending again is told from a reused id.
    """

    id: UUID
    verb: str
    store: str
    by: int
    device: UUID
    device_seq: int
    happened_at: datetime
    item: UUID | None = None
    crew: str | None = None
    picker: int | None = None
    block: str | None = None
    bath: UUID | None = None
    lot: UUID | None = None
    act: UUID | None = None
    claimed_at: datetime | None = None
    detail: Mapping[str, Any] = field(default_factory=dict)
    note: str = ""
    sent_digest: str | None = None
    against: tuple[str, ...] = ()
    wants: Mapping[str, str] = field(default_factory=dict)
    roles: frozenset[str] = frozenset()

    @property
    def subject(self) -> Subject:
        if self.item:
            return "item", self.item
        if self.bath:
            return "bath", self.bath
        return ("lot", self.lot) if self.lot else ("crew", self.crew)

    @property
    def value(self) -> values.Entry:
        return values.Entry(
            self.id,
            self.verb,
            self.happened_at,
            self.device,
            self.device_seq,
            self.store,
            self.detail,
            self.picker,
            self.crew,
            self.block,
            self.bath,
            self.by,
            self.lot,
        )


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a draft: the `codes` of a refusal (or, recorded, of what was said to it), the gate's `reasons`
    behind them, and the discrepancies that it opened. `state` is what its subject is after it (of a note: after all of
    them), `condition` that of an item when all is written down."""

    id: UUID
    recorded: bool
    codes: tuple[str, ...] = ()
    reasons: tuple[Reason, ...] = ()
    discrepancies: tuple[values.Discrepancy, ...] = ()
    state: Any = None
    condition: Condition | None = None


@dataclass(frozen=True, slots=True)
class Recorded:
    """Outcomes in the order of the drafts, and the chain heads that moved, by store."""

    outcomes: list[Outcome]
    heads: Mapping[str, ChainHead]
