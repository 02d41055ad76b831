"""What it is to do something with one item: who may, when it makes sense, what it is about."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils import timezone
from django.utils.functional import Promise

from crews import policy
from crews.models import User
from equipment.actions.undo import last_line
from equipment.actions.writing import Pen
from equipment.domain.verbs import VERBS
from equipment.ledger import Outcome
from equipment.models import ItemState
from equipment.models.reading import own_crews
from equipment.pages.item_forms import NoteForm
from equipment.pages.piece import Asked, Piece

Words = str | Promise
Do = Callable[[User, ItemState, Mapping[str, Any]], Outcome]

OUT = frozenset({"picker", "crew", "orchard"})
HERE = frozenset({"store", "bench"})
MISSING = frozenset({"missing"})
EVERYWHERE = OUT | HERE | MISSING


def whole(piece: Piece) -> Sequence[str]:
    return [""]


@dataclass(frozen=True)
class ItemAct:
    """`verb` names what is recorded and so, in the policy, who may. `places`: where the item must be for it to make
    sense. `ask`, optional, is put before it is done, with the parameters tag and what. `about` are the faults or
    checklists that it can be done about, each with a form of its own, in which `key` is the field that names it."""

    name: str
    verb: str
    words: Words
    form: type[NoteForm]
    do: Do
    places: frozenset[str]
    ask: Words = ""
    key: str = ""
    about: Callable[[Piece], Sequence[str]] = whole
    allows: Callable[[Asked], bool] = lambda asked: True

    @property
    def action(self) -> str:
        return VERBS[self.verb].action


def pen(user: User, state: ItemState, store: str | None = None) -> Pen:
    """Writes in the book of `store`, of the store that this person works from, or of the item's own."""
    return Pen(user, store or user.store_id or state.store_id or "", timezone.now())


def may(act: ItemAct, asked: Asked) -> bool:
    """Whether this person's roles grant it, for this item: a supervisor acts on what their own crews have."""
    state = asked.piece.row
    actions = [act.action]
    if act.name == "undo":
        last = last_line(state.item_id)
        if last is None:
            return False
        actions.append(VERBS[last.verb].action)
    return all(_granted(asked.user, action, state) for action in actions) and act.allows(asked)


def _granted(user: User, action: str, state: ItemState) -> bool:
    if not policy.may_act(user, action):
        return False
    if not policy.only_own_crews(user, policy.ACTIONS[action]):
        return True
    return own_crews(user).filter(pk=state.crew_id).exists()


def makes_sense(act: ItemAct, asked: Asked) -> bool:
    return asked.piece.row.place in act.places and asked.about in act.about(asked.piece)
