"""What a verification can find, each with its words."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

WORDS: Mapping[str, str] = {
    "unguarded": gettext_noop(
        "The trigger %(trigger)s is gone: the book can be changed. Run migrate to put it back."
    ),
    "altered": gettext_noop("Entry %(line)s does not fit its digest: something in it was changed."),
    "digest_altered": gettext_noop("Entry %(line)s is as it was sealed, but its digest was changed."),
    "unreadable": gettext_noop("Entry %(line)s cannot be read."),
    "missing": gettext_noop(
        "Position %(at)s is missing. Entry %(line)s was sealed upon it, so its own digest cannot be checked."
    ),
    "missing_more": gettext_noop(
        "Positions %(at)s to %(to)s are missing. Entry %(line)s was sealed upon them, so its own digest cannot be "
        "checked."
    ),
    "end_gone": gettext_noop("The last entry of the store's book, %(line)s, is gone."),
    "end_gone_more": gettext_noop(
        "The last %(count)s entries of the store's book, up to %(line)s, are gone."
    ),
    "beyond_head": gettext_noop("Entry %(line)s lies beyond the end of the store's book as its head has it."),
    "head_gone": gettext_noop(
        "The head of the book of store %(store)s is gone, though it has entries up to %(line)s."
    ),
    "head_differs": gettext_noop(
        "The head of the book of store %(store)s does not fit its last entry, %(line)s."
    ),
    "note_altered": gettext_noop("The note of entry %(line)s is not the one that was sealed."),
    "note_gone": gettext_noop("The note of entry %(line)s is gone, and not by being erased."),
    "note_added": gettext_noop("Entry %(line)s was written without the note that hangs on it now."),
    "unfoldable": gettext_noop(
        "The entries of %(subject)s make no sense, so that no state follows from them."
    ),
    "state_differs": gettext_noop("The state of %(subject)s is not what its entries add up to: %(columns)s."),
    "state_gone": gettext_noop("%(subject)s has entries but no state."),
    "state_left_over": gettext_noop("%(subject)s has a state but no entries."),
    "visits_differ": gettext_noop("The visits of %(subject)s are not what its entries add up to."),
    "members_differ": gettext_noop("Who is in %(subject)s is not what its entries add up to: %(columns)s."),
    "discrepancies_differ": gettext_noop(
        "The discrepancies listed of %(subject)s are not those of its entries."
    ),
    "item_differs": gettext_noop("What %(subject)s is differs from its entry %(line)s: %(columns)s."),
    "item_unregistered": gettext_noop("%(subject)s was never registered in the book."),
    "labels_differ": gettext_noop("The labels of %(subject)s are not those of its entries: %(columns)s."),
}

# What `rebuild_states` puts right; the rest is for a person, with a backup and the printed registers beside them.
REBUILDABLE = frozenset(
    {
        "state_differs",
        "state_gone",
        "state_left_over",
        "members_differ",
        "visits_differ",
        "discrepancies_differ",
    }
)


@dataclass(frozen=True, slots=True)
class Finding:
    """`code` is a key of WORDS, `params` fill them; what is of one line of the book names store and position."""

    code: str
    params: Mapping[str, Any] = field(default_factory=dict)

    def __str__(self) -> str:
        return _(WORDS[self.code]) % self.params

    @property
    def rebuildable(self) -> bool:
        return self.code in REBUILDABLE


@dataclass(slots=True)
class Looked:
    """What came of looking at a piece of the book: how many entries it has, what was found, and `heads`, how far the
    chain was followed (store -> position and digest)."""

    entries: int = 0
    findings: list[Finding] = field(default_factory=list)
    heads: dict[str, tuple[int, str]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Verified:
    """`heads` are the last position and digest of each store, as computed; clean where there are no findings. Of these
    the first are kept, `more` is how many there are beside them."""

    entries: int
    heads: Mapping[str, tuple[int, str]]
    findings: tuple[Finding, ...]
    more: int = 0

    @property
    def clean(self) -> bool:
        return not self.findings


def line(store: str, position: int, entry: Any = None, verb: str = "") -> str:
    """An entry as it is named: its store and position, its id and verb where they are known."""
    known = ", ".join(str(part) for part in (entry, verb) if part)
    return f"{store} {position} ({known})" if known else f"{store} {position}"
