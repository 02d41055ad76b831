"""A piece of gear with all that its condition is read from, for the pages that show it or do something with it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from crews.models import User
from equipment.domain import gate, values
from equipment.domain.condition import Condition
from equipment.domain.gate import Reason
from equipment.domain.rules import Rules
from equipment.models import ItemState, LotState, projections, rules


@dataclass(frozen=True)
class Piece:
    """`row` is what lists read, `told` the fold itself, `found` its condition by `rules`, `void` why cleanings of it
    (by entry) do not count; all as of `at`. `lots` remembers what a mend may use up, by store: asked for once, however
    many of its faults can be mended."""

    row: ItemState
    told: values.ItemState
    found: Condition
    rules: Rules
    at: datetime
    void: Mapping[UUID, str] = field(default_factory=dict)
    lots: dict[str, Mapping[str, LotState]] = field(default_factory=dict, compare=False)

    @property
    def kind(self) -> str:
        return self.row.item.kind_id

    @property
    def against(self) -> Sequence[Reason]:
        """What its condition says against its going out, the gravest first."""
        return gate.against(self.found, self.at)

    @property
    def open_faults(self) -> Sequence[values.OpenFault]:
        """In order of finding; those that wait to be passed are among them."""
        return self.told.faults


@dataclass(frozen=True)
class Asked:
    """Who asks for what to be done with a piece. `about` is what of it is meant where it is not the whole: a fault, a
    checklist."""

    name: str
    user: User
    piece: Piece
    about: str = ""

    @property
    def id(self) -> str:
        return f"{self.name}_{self.about}" if self.about else self.name


def pieces(rows: Iterable[ItemState], at: datetime) -> list[Piece]:
    """These rows, read with their folds, as pieces in the same order; a few queries, however many they are."""
    rows = list(rows)
    folds = [projections.folded_item(row) for row in rows]
    in_force = rules.rules_at(at)
    beside = projections.surroundings(folds, in_force)
    return [_piece(row, folded.state, beside, at) for row, folded in zip(rows, folds, strict=True)]


def piece(row: ItemState, at: datetime) -> Piece:
    return pieces([row], at)[0]


def _piece(row: ItemState, told: values.ItemState, beside: Any, at: datetime) -> Piece:
    return Piece(row, told, beside.condition(told), beside.rules, at, beside.void)
