"""What can be done with one item from its page: who may, when it makes sense, and which action does it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from django.utils import timezone
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from crews import policy
from crews.models import User
from equipment.actions.find import find
from equipment.actions.miss import miss
from equipment.actions.move import move
from equipment.actions.retag import retag
from equipment.actions.take_back import take_back
from equipment.actions.undo import last_line, undo
from equipment.actions.write_off import write_off
from equipment.actions.writing import Pen
from equipment.domain.verbs import VERBS
from equipment.ledger import Outcome
from equipment.models import ItemState
from equipment.models.reading import own_crews
from equipment.pages import item_forms as forms

Words = str | Promise
Do = Callable[[User, ItemState, Mapping[str, Any]], Outcome]


@dataclass(frozen=True)
class ItemAct:
    """`verb` names what is recorded and so, in the policy, who may. `places`: where the item must be for it to make
    sense. `ask`, optional, is put before it is done, with the parameters tag and what."""

    name: str
    verb: str
    words: Words
    form: type[forms.NoteForm]
    do: Do
    places: frozenset[str]
    ask: Words = ""

    @property
    def action(self) -> str:
        return VERBS[self.verb].action


def _pen(user: User, state: ItemState, store: str | None = None) -> Pen:
    """Writes in the book of `store`, of the store that this person works from, or of the item's own."""
    return Pen(user, store or user.store_id or state.store_id or "", timezone.now())


def _retag(user: User, state: ItemState, said: Mapping[str, Any]) -> Outcome:
    return retag(_pen(user, state), state, said["tag"], said["note"])


def _move(user: User, state: ItemState, said: Mapping[str, Any]) -> Outcome:
    return move(_pen(user, state), state, said["to"].pk, said["note"])


def _miss(user: User, state: ItemState, said: Mapping[str, Any]) -> Outcome:
    return miss(_pen(user, state), state, said["note"])


def _find(user: User, state: ItemState, said: Mapping[str, Any]) -> Outcome:
    if said["where"] == "crew":
        return find(_pen(user, state), state, state.crew_id, said["note"])
    return find(_pen(user, state, said["where"]), state, None, said["note"])


def _take_back(user: User, state: ItemState, said: Mapping[str, Any]) -> Outcome:
    return take_back(_pen(user, state, said["store"].pk), state, said["wet"], said["note"])


def _write_off(user: User, state: ItemState, said: Mapping[str, Any]) -> Outcome:
    return write_off(_pen(user, state), state, said["circumstance"], said["note"])


def _undo(user: User, state: ItemState, said: Mapping[str, Any]) -> Outcome:
    return undo(_pen(user, state), state, said["entry"], said["note"])


OUT = frozenset({"picker", "crew", "orchard"})
HERE = frozenset({"store", "bench"})
MISSING = frozenset({"missing"})
EVERYWHERE = OUT | HERE | MISSING

ACTS = {
    act.name: act
    for act in (
        ItemAct("take_back", "returned", _("Take back"), forms.TakeBackForm, _take_back, OUT),
        ItemAct("find", "found", _("Mark found"), forms.FindForm, _find, MISSING),
        ItemAct("retag", "retagged", _("New label"), forms.RetagForm, _retag, EVERYWHERE),
        ItemAct("move", "moved", _("Move to another store"), forms.MoveForm, _move, HERE),
        ItemAct("miss", "missed", _("Mark missing"), forms.NoteForm, _miss, OUT | HERE),
        ItemAct(
            "write_off",
            "written_off",
            _("Write off"),
            forms.WriteOffForm,
            _write_off,
            EVERYWHERE,
            _("Write off %(tag)s? It stays in the book, but nobody can hand it out any more."),
        ),
        ItemAct(
            "undo",
            "reversed",
            _("Undo the last line"),
            forms.UndoForm,
            _undo,
            EVERYWHERE | {"gone"},
            _("Take back “%(what)s” The line stays in the book, struck, and cannot be put in force again."),
        ),
    )
}


def may(user: User, act: ItemAct, state: ItemState) -> bool:
    """Whether this person's roles grant it, for this item: a supervisor acts on what their own crews have."""
    actions = [act.action]
    if act.name == "undo":
        last = last_line(state.item_id)
        if last is None:
            return False
        actions.append(VERBS[last.verb].action)
    return all(_granted(user, action, state) for action in actions)


def _granted(user: User, action: str, state: ItemState) -> bool:
    if not policy.may_act(user, action):
        return False
    if not policy.only_own_crews(user, policy.ACTIONS[action]):
        return True
    return own_crews(user).filter(pk=state.crew_id).exists()


def makes_sense(act: ItemAct, state: ItemState) -> bool:
    return state.place in act.places
