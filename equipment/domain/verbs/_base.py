"""The shape of a verb. Each verb is one file here: its detail, its step on the state, its action, its message."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict

from equipment.domain.values import Entry, ItemState

Family = Literal["item", "crew", "bath", "any"]


class Detail(BaseModel):
    """Base of every verb's detail: nothing unknown in it, nothing changed after it was checked."""

    model_config = ConfigDict(frozen=True, extra="forbid", str_max_length=200)


class NoDetail(Detail):
    """For verbs that say everything by their references."""


@dataclass(frozen=True)
class Verb:
    """`action` is what policy grants; `say` a gettext template with the parameters tag, kind, crew, to.

    `needs` names the references, beside the subject, without which an entry is malformed.
    """

    name: str
    family: Family
    step: Callable[[Any, Entry], Any]
    action: str
    say: str
    detail: type[Detail] = NoDetail
    needs: tuple[Literal["picker", "crew", "block", "holder"], ...] = ()


def placed(state: ItemState, at: datetime, **changes: Any) -> ItemState:
    """`state` in a new place since `at`: no holder and no block unless `changes` says so."""
    return replace(state, **{"picker": None, "crew": None, "block": None, "since": at, **changes})
