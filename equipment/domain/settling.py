"""The sensible ways to settle each discrepancy. What a person chooses is written as `settled`, along with the line that
puts the book right where the choice takes one.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from equipment.domain.values import OUT, ItemState, State
from equipment.domain.words import gettext_noop


@dataclass(frozen=True, slots=True)
class Choice:
    """`name` is what `settled` keeps; `words` a gettext template with where (the item is now by the book), store (its
    own), crew and left (of a lot). `verb` is the line that goes with it, "" for none; `reversed` names the
    contradicting line, or with `undoes` the last line of that verb."""

    name: str
    words: str
    verb: str = ""
    undoes: str = ""


SO = "so_it_was"
STRIKE = "struck"


def _so(words: str) -> Choice:
    return Choice(SO, words)


def _strike(words: str) -> Choice:
    return Choice(STRIKE, words, "reversed")


AS_IT_STANDS = _so(gettext_noop("It was so. The book stands: it is %(where)s."))
NOT_SO = _strike(gettext_noop("It was not so, or was told twice. Strike this line."))
ANOTHER = _strike(gettext_noop("It was another piece. Strike this line."))
BACK = Choice("came_back", gettext_noop("It lies in %(store)s. Take it back now."), "returned")
LOST = Choice("nobody_has_it", gettext_noop("Nobody knows where it is. Mark it missing."), "missed")
HERE_AFTER_ALL = Choice(
    "not_gone", gettext_noop("It is here after all. Strike the writing-off."), "reversed", "written_off"
)
PASSED = Choice("passed", gettext_noop("I have looked at it myself and pass it."), "released")
COUNTED = Choice(
    "counted", gettext_noop("I have counted the lot: the book is right, with %(left)s left."), "counted"
)

WAYS: Mapping[str, tuple[Choice, ...]] = {
    "already_out": (AS_IT_STANDS, NOT_SO, BACK),
    "other_store": (AS_IT_STANDS, NOT_SO, BACK),
    "missing": (
        _so(gettext_noop("It has turned up. The book stands: it is %(where)s.")),
        ANOTHER,
        BACK,
    ),
    "written_off": (
        HERE_AFTER_ALL,
        ANOTHER,
        _so(gettext_noop("Leave it so. The book stands: it is %(where)s.")),
    ),
    "picker_left": (AS_IT_STANDS, NOT_SO, BACK),
    "not_out": (AS_IT_STANDS, NOT_SO, LOST),
    "not_in_crew": (
        _so(gettext_noop("They are not in %(crew)s. The book stands.")),
        _strike(gettext_noop("It was another picker. Strike this line.")),
    ),
    "registered_twice": (
        _so(gettext_noop("The first line counts. The book stands.")),
        _strike(gettext_noop("Strike the second line.")),
    ),
    "not_faulty": (
        _so(gettext_noop("It was mended or passed, and nobody had told of the fault. The book stands.")),
        ANOTHER,
    ),
    "not_mended": (
        _so(gettext_noop("It waits for its mend. The book stands.")),
        _strike(gettext_noop("It was passed by mistake. Strike this line.")),
    ),
    "own_mend": (
        PASSED,
        _so(gettext_noop("It waits until somebody else passes it. The book stands.")),
        _strike(gettext_noop("It was passed by mistake. Strike this line.")),
    ),
    "mixed_twice": (
        _so(gettext_noop("The first mixing counts. The book stands.")),
        _strike(gettext_noop("Strike the second line.")),
    ),
    "received_twice": (
        _so(gettext_noop("The first receipt counts. The book stands.")),
        _strike(gettext_noop("Strike the second line.")),
    ),
    "more_than_left": (
        COUNTED,
        _so(gettext_noop("It was so. The book stands, and the lot is counted later.")),
        _strike(gettext_noop("It was another lot, or was told twice. Strike this line.")),
    ),
    "not_reversible": (_so(gettext_noop("Leave it so: there is nothing to take back.")),),
}


def ways(code: str, state: State) -> tuple[Choice, ...]:
    """The choices for a discrepancy of `code` of a subject in this `state`, the likeliest first. A code that is not
    known can be left as it stands."""
    return tuple(choice for choice in WAYS.get(code, (AS_IT_STANDS,)) if _possible(choice, state))


def _possible(choice: Choice, state: State) -> bool:
    if not isinstance(state, ItemState):
        return True
    if choice is BACK:
        return state.place in OUT or state.place == "missing"
    if choice is LOST:
        return state.place not in ("missing", "gone")
    return choice is not HERE_AFTER_ALL or state.place == "gone"
