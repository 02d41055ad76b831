"""What a stocktake makes of a piece, and how each surprise can be settled. Only what was scanned counts as seen."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from equipment.domain.values import OUT
from equipment.domain.words import gettext_noop

# Where a piece lies in its store, by the book.
LYING = ("store", "bench")
# Seen, though by the book it is not here.
SURPRISES = ("out", "other_store", "missing", "gone")
# What a person has to say something to before all is settled.
OPEN = ("left", *SURPRISES)


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece at a stocktake. `here`: by the book it lies in that store now; `place` and `since` are the book's.
    `seen_at` is its last scan, `settled_at` the last choice of a person; None for none. `told_late`: the
    scan came to the book after that choice (a line was cut), so whoever chose did not know of it."""

    expected: bool
    here: bool
    place: str
    since: datetime | None = None
    seen_at: datetime | None = None
    settled_at: datetime | None = None
    told_late: bool = False


def standing(piece: Piece) -> str:
    """`seen`; `left`, where it is still to be looked for; `elsewhere`, where nobody saw it and the book has it
    elsewhere by now (handed out meanwhile, say); `settled`; one of SURPRISES; `aside`, where it has no part in it."""
    if piece.seen_at is not None:
        return _seen(piece, piece.seen_at)
    if piece.settled_at is not None and not (piece.here and _after(piece.since, piece.settled_at)):
        return "settled"
    if not piece.expected:
        return "aside"
    return "left" if piece.here else "elsewhere"


def _seen(piece: Piece, seen_at: datetime) -> str:
    """What the book told before the scan is a surprise; what happened after it is none."""
    chosen_after = piece.settled_at is not None and piece.settled_at >= seen_at
    if chosen_after and not piece.told_late:
        return "settled"
    if piece.here or (_after(piece.since, seen_at) and not chosen_after):
        return "seen"
    if piece.place in OUT:
        return "out"
    return piece.place if piece.place in ("missing", "gone") else "other_store"


def _after(since: datetime | None, at: datetime) -> bool:
    return since is not None and since > at


@dataclass(frozen=True, slots=True)
class Choice:
    """`words` is a gettext template with store (where it is counted), own (the piece's own store) and where. `verb` is
    the line that it becomes, "settled" for one that changes nothing else. `asks` names what must be filled in."""

    name: str
    words: str
    verb: str
    asks: str = ""


MISSED = Choice("missed", gettext_noop("Nobody can find it. Mark it missing."), "missed")
SEEN = Choice("seen", gettext_noop("It is here after all: I have seen it."), "seen")
GIVEN = Choice("given", gettext_noop("It is out: somebody has it."), "handed_out", "who")
WRITTEN_OFF = Choice("written_off", gettext_noop("It is gone for good. Write it off."), "written_off", "why")
LIES_THERE = Choice("lies_there", gettext_noop("It lies in another store."), "moved", "to")
TAKEN_BACK = Choice("taken_back", gettext_noop("Take it back into %(store)s."), "returned")
TWIN = Choice(
    "label_twin", gettext_noop("They have it: this is another piece that wears its label."), "settled"
)
MOVED_HERE = Choice("moved_here", gettext_noop("It stays here: move it to %(store)s."), "moved")
SENT_BACK = Choice("sent_back", gettext_noop("Send it back to %(own)s."), "settled")
FOUND = Choice("found", gettext_noop("It is found, in %(store)s."), "found")
STAYS_MISSING = Choice(
    "stays_missing", gettext_noop("It stays missing: this is another piece with its label."), "settled"
)
NOT_GONE = Choice(
    "not_gone",
    gettext_noop("It is here after all. Strike the writing-off; it lies in %(store)s."),
    "reversed",
)
STAYS_GONE = Choice("stays_gone", gettext_noop("It stays written off. Take it out of the store."), "settled")

WAYS: Mapping[str, tuple[Choice, ...]] = {
    "left": (SEEN, MISSED, GIVEN, LIES_THERE, WRITTEN_OFF),
    "out": (TAKEN_BACK, TWIN),
    "other_store": (MOVED_HERE, SENT_BACK),
    "missing": (FOUND, STAYS_MISSING),
    "gone": (NOT_GONE, STAYS_GONE),
}

# Of a tag that the book does not know.
REGISTERED = Choice(
    "registered", gettext_noop("It is ours, and new to the book: register it."), "registered", "kind"
)
RETAGGED = Choice("retagged", gettext_noop("It is a piece of ours that lost its label."), "retagged", "tag")
NOT_OURS = Choice("not_ours", gettext_noop("It is not ours, or was misread."), "")
OF_UNKNOWN = (REGISTERED, RETAGGED, NOT_OURS)

# What a settlement says afterwards, by the name of its choice or, where the line itself says it, its verb.
SETTLED: Mapping[str, str] = {
    "missed": gettext_noop("marked missing"),
    "handed_out": gettext_noop("it was out"),
    "written_off": gettext_noop("written off"),
    "moved": gettext_noop("moved to %(to)s"),
    "returned": gettext_noop("taken back"),
    "found": gettext_noop("found"),
    "label_twin": gettext_noop("they have it; another piece wears its label"),
    "sent_back": gettext_noop("sent back to its store"),
    "stays_missing": gettext_noop("stays missing; another piece wears its label"),
    "not_gone": gettext_noop("here after all; the writing-off was struck"),
    "stays_gone": gettext_noop("stays written off"),
    "registered": gettext_noop("registered"),
    "retagged": gettext_noop("a piece that had lost its label"),
    "not_ours": gettext_noop("not ours, or misread"),
}

# What it was before it was settled so: the paper still says that.
WAS: Mapping[str, str] = {
    "returned": "out",
    "label_twin": "out",
    "moved": "other_store",
    "sent_back": "other_store",
    "found": "missing",
    "stays_missing": "missing",
    "not_gone": "gone",
    "stays_gone": "gone",
}

# What each standing is called, on the page and on paper.
STANDINGS: Mapping[str, str] = {
    "seen": gettext_noop("seen"),
    "left": gettext_noop("not seen"),
    "elsewhere": gettext_noop("left meanwhile"),
    "settled": gettext_noop("settled"),
    "out": gettext_noop("seen, but out to somebody"),
    "other_store": gettext_noop("seen, but of another store"),
    "missing": gettext_noop("seen, but marked missing"),
    "gone": gettext_noop("seen, but written off"),
    "unknown": gettext_noop("not in the book"),
}


KEY = "stocktake:"


def key(seen: object) -> str:
    """What a `settled` line of a stocktake names: the scan that it answers."""
    return f"{KEY}{seen}"
