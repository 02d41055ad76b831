"""The shape of a verb. Each verb is one file here: its detail, its step on the state, its action, its messages."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
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

    `told` is how the book tells it afterwards, a gettext template with the entry's detail and its references in words
    (who, crew, store, block, from, what); `told_with` maps a word to the template to tell it with where the entry has
    that word. `needs` names the references, beside the subject, without which an entry is malformed.
    """

    name: str
    family: Family
    step: Callable[[Any, Entry], Any]
    action: str
    say: str
    told: str
    told_with: Mapping[str, str] = field(default_factory=dict)
    detail: type[Detail] = NoDetail
    needs: tuple[Literal["picker", "crew", "block", "holder"], ...] = ()

    def telling(self, words: Mapping[str, Any]) -> str:
        """The template that tells an entry of these words."""
        return next((told for word, told in self.told_with.items() if words.get(word)), self.told)


def placed(state: ItemState, at: datetime, **changes: Any) -> ItemState:
    """`state` in a new place since `at`: no holder and no block unless `changes` says so."""
    return replace(state, **{"picker": None, "crew": None, "block": None, "since": at, **changes})
