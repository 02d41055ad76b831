"""The shape of a verb. Each verb is one file here: its detail, its step on the state, its action, its messages."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from equipment.domain.replacing import replace
from equipment.domain.stints import let_go
from equipment.domain.values import Entry, ItemState, LotState

Family = Literal["item", "crew", "bath", "lot", "any"]
# Of counted goods, in their unit.
Quantity = Annotated[float, Field(gt=0, le=1_000_000, allow_inf_nan=False)]


class Detail(BaseModel):
    """Base of every verb's detail: nothing unknown in it, nothing changed after it was checked."""

    model_config = ConfigDict(frozen=True, extra="forbid", str_max_length=200)


class NoDetail(Detail):
    """For verbs that say everything by their references."""


@dataclass(frozen=True)
class Verb:
    """`action` is what policy grants; `say` a gettext template with the parameters tag, kind, crew, to; `say_but` is
    said in its place where the entry is recorded with something against it.

    `told` is how the book tells it afterwards, a gettext template with the entry's detail and its references in words
    (who, crew, store, block, bath, from, what); `told_with` maps a word to the template to tell it with where the entry
    has that word. `needs` names the references, beside the subject, without which an entry is malformed. `sealed` are
    the words of the detail that the server alone writes: facts of the rules of the day. `older` lead from each version
    of the detail to the next, beginning with the first.
    """

    name: str
    family: Family
    step: Callable[[Any, Entry], Any]
    action: str
    say: str
    told: str
    told_with: Mapping[str, str] = field(default_factory=dict)
    detail: type[Detail] = NoDetail
    needs: tuple[Literal["picker", "crew", "block", "holder", "bath"], ...] = ()
    sealed: Mapping[str, Any] = field(default_factory=dict)
    say_but: str = ""
    older: tuple[Callable[[dict[str, Any]], dict[str, Any]], ...] = ()

    @property
    def version(self) -> int:
        """Of the detail as it is today; a phone that was not updated may send an older one."""
        return len(self.older) + 1

    def updated(self, detail: Mapping[str, Any], version: int) -> dict[str, Any]:
        """A detail of that version in the words of today."""
        changed = dict(detail)
        for step in self.older[max(version, 1) - 1 :]:
            changed = step(changed)
        return changed

    def telling(self, words: Mapping[str, Any]) -> str:
        """The template that tells an entry of these words."""
        return next((told for word, told in self.told_with.items() if words.get(word)), self.told)


def placed(state: ItemState, at: datetime, **changes: Any) -> ItemState:
    """`state` in a new place since `at`: no holder and no block unless `changes` says so."""
    return replace(let_go(state, at), **{"picker": None, "crew": None, "block": None, "since": at, **changes})


def exact(quantity: float) -> float:
    """`quantity` without what binary fractions leave behind: 0.3 less 0.1 less 0.2 is nothing."""
    return round(quantity, 6)


def taken(state: LotState, entry: Entry) -> LotState:
    """`state` with the entry's quantity gone. More than was thought to be there is a fact: somebody counts again."""
    left = exact(state.left - float(entry.detail["quantity"]))
    gone = replace(state, left=max(left, 0.0))
    return gone if left >= 0 else gone.contradicted("more_than_left", entry.id)
