"""What can be done with one item from its page, and which action does it."""

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext_lazy as _

from crews.models import User
from equipment.actions.find import find
from equipment.actions.hear import had_last, hear
from equipment.actions.miss import miss
from equipment.actions.move import move
from equipment.actions.retag import retag
from equipment.actions.take_back import take_back
from equipment.actions.undo import undo
from equipment.actions.write_off import write_off
from equipment.ledger import Outcome
from equipment.models import ItemState
from equipment.pages import item_forms as forms
from equipment.pages.acts import EVERYWHERE, HERE, MISSING, OUT, ItemAct, pen
from equipment.pages.care_acts import CARE
from equipment.pages.piece import Asked

Said = Mapping[str, Any]

WITH_PICKER = frozenset({"picker"})
GONE = frozenset({"gone"})


def _retag(user: User, state: ItemState, said: Said) -> Outcome:
    return retag(pen(user, state), state, said["tag"], said["note"])


def _move(user: User, state: ItemState, said: Said) -> Outcome:
    return move(pen(user, state), state, said["to"].pk, said["note"])


def _miss(user: User, state: ItemState, said: Said) -> Outcome:
    return miss(pen(user, state), state, said["note"])


def _find(user: User, state: ItemState, said: Said) -> Outcome:
    if said["where"] == "crew":
        return find(pen(user, state), state, state.crew_id, said["note"])
    return find(pen(user, state, said["where"]), state, None, said["note"])


def _take_back(user: User, state: ItemState, said: Said) -> Outcome:
    return take_back(pen(user, state, said["store"].pk), state, said["wet"], said["note"])


def _write_off(user: User, state: ItemState, said: Said) -> Outcome:
    return write_off(
        pen(user, state),
        state,
        said["circumstance"],
        said["note"],
        case=said["case"],
        said=said.get("said", ""),
    )


def _hear(user: User, state: ItemState, said: Said) -> Outcome:
    return hear(pen(user, state), state, said["note"])


def _was_anybodys(asked: Asked) -> bool:
    return had_last(asked.piece.row) is not None


def _undo(user: User, state: ItemState, said: Said) -> Outcome:
    return undo(pen(user, state), state, said["entry"], said["note"])


ACTS = {
    act.name: act
    for act in (
        *CARE,
        ItemAct("take_back", "returned", _("Take back"), forms.TakeBackForm, _take_back, OUT),
        ItemAct("find", "found", _("Mark found"), forms.FindForm, _find, MISSING),
        ItemAct("retag", "retagged", _("New label"), forms.RetagForm, _retag, EVERYWHERE),
        ItemAct("move", "moved", _("Move to another store"), forms.MoveForm, _move, HERE),
        ItemAct("miss", "missed", _("Mark missing"), forms.NoteForm, _miss, OUT | HERE),
        ItemAct(
            "hear",
            "heard",
            _("Write down what the picker says"),
            forms.HearForm,
            _hear,
            WITH_PICKER | MISSING | GONE,
            allows=_was_anybodys,
        ),
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
            EVERYWHERE | GONE,
            _("Take back “%(what)s” The line stays in the book, struck, and cannot be put in force again."),
        ),
    )
}
