"""What came to the question of a printing after it was printed: lines added, lines taken back, lines that say more."""

from dataclasses import dataclass
from hashlib import sha256
from uuid import UUID

from equipment.models.registers import Asked, Heads, Line, Register, heads_now

# Of each sort, as many lines as are shown; and how many lines a printing may have to be compared at all.
SHOWN = 50
MOST_COMPARED = 200_000


@dataclass(frozen=True, slots=True)
class Lines:
    """`count` of them, of which the first are `shown`."""

    count: int = 0
    shown: tuple[Line, ...] = ()

    def __bool__(self) -> bool:
        return self.count > 0

    def with_(self, line: Line) -> "Lines":
        return Lines(self.count + 1, (*self.shown, line) if self.count < SHOWN else self.shown)


@dataclass(frozen=True, slots=True)
class Since:
    """`added`: of entries recorded later. `gone`: printed, and taken back since. `changed`: of the same entry, but they
    say more now, such as that a fault is mended. `too_many`: it was not looked at."""

    added: Lines = Lines()
    gone: Lines = Lines()
    changed: Lines = Lines()
    too_many: bool = False

    def __bool__(self) -> bool:
        return bool(self.added or self.gone or self.changed)


def since(register: Register, asked: Asked, heads: Heads) -> Since:
    """The lines as of `heads` against those of now. In memory: 48 bytes or so for each line."""
    now = heads_now()
    if dict(now) == dict(heads):
        return Since()
    printed: dict[bytes, UUID] = {}
    known: set[UUID] = set()
    for line in register.lines(asked, heads):
        printed[_mark(line)] = line.entry
        known.update(line.entries)
        if len(printed) > MOST_COMPARED:
            return Since(too_many=True)
    added = changed = Lines()
    met: set[UUID] = set()
    for line in register.lines(asked, now):
        met.update(line.entries)
        if printed.pop(_mark(line), None) is None:
            if line.entry in known:
                changed = changed.with_(line)
            else:
                added = added.with_(line)
    left = {mark for mark, entry in printed.items() if entry not in met}
    return Since(added, _gone(register, asked, heads, left), changed)


def _gone(register: Register, asked: Asked, heads: Heads, marks: set[bytes]) -> Lines:
    gone = Lines()
    for line in register.lines(asked, heads) if marks else ():
        if _mark(line) in marks:
            gone = gone.with_(line)
    return gone


def _mark(line: Line) -> bytes:
    return sha256(line.canonical()).digest()[:16]
