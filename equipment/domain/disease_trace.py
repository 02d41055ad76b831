"""The disease trace: from a block, by the pieces that worked there, to the blocks that these went to, and so on.

A block passes the disease to the carriers that are in it, a carrier to the blocks that it then comes to, until a
cleaning kills it; a block stays infected. So a piece is as many nodes as it has lives, one from each such cleaning to
the next. A stay lasts, so what is passed on in it is passed at the first moment when both are there and one of them has
it: `trace.earliest_arrivals` over these moments, a step at a time, asking the book only about what was just reached.

Chaining: `strict`, what was reached passes it on only later than that moment, however little later, so both must be
there for some time. Not strict, one common moment is enough: of two who pass at the gate the second is exposed too.
"""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from operator import itemgetter
from typing import Protocol
from uuid import UUID

from equipment.domain.trace import earliest_arrivals
from equipment.domain.whereabouts import Stay

Life = tuple[UUID, int]
"""A piece since its so-manyeth cleaning that kills the disease, counted from the beginning of the trace."""
Node = str | Life
"""A block's code, or a piece's life."""


@dataclass(frozen=True, slots=True)
class Question:
    """The disease is in `block` since `since`, UTC. What happened after `until` is not followed. `steps`: how many
    times blocks pass it on, 1 for no further than the pieces that worked in the block itself and the blocks that these
    went to; None: to the end."""

    block: str
    since: datetime
    until: datetime
    strict: bool = True
    steps: int | None = None


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """Of one carrier, from the beginning of the trace: its stays in blocks, and when cleanings killed the disease."""

    stays: tuple[Stay, ...] = ()
    kills: tuple[datetime, ...] = ()

    def lives(self) -> list[list[Stay]]:
        """The stays cut by the cleanings: those of each life, the first one first."""
        if not self.kills:
            return [list(self.stays)]
        kills = sorted(self.kills)
        found: list[list[Stay]] = [[] for _ in range(len(kills) + 1)]
        for stay in self.stays:
            life = bisect_left(kills, stay.at)
            for kill in kills[life:]:
                if stay.until is not None and kill > stay.until:
                    break
                found[life].append(stay._replace(until=kill))
                life, stay = life + 1, stay._replace(at=kill)
            found[life].append(stay)
        return found


class Book(Protocol):
    """What the trace asks, of carriers of this disease only."""

    def carriers_in(self, blocks: Mapping[str, datetime]) -> Iterable[UUID]:
        """All that were in these blocks at or after these times; more than these do no harm."""

    def whereabouts(self, pieces: Collection[UUID]) -> Mapping[UUID, Whereabouts]:
        """Of each of these pieces, from the beginning of the trace on."""


@dataclass(frozen=True, slots=True)
class Reach:
    """Reached at `at`, from `source` (None: where it all begins), in this `stay` of a piece in a block."""

    at: datetime
    source: Node | None = None
    stay: Stay | None = None


@dataclass(frozen=True)
class Trace:
    """What was reached, each at its earliest, and the whereabouts of every piece that was looked at."""

    question: Question
    reached: Mapping[Node, Reach]
    pieces: Mapping[UUID, Whereabouts]

    def path(self, node: Node) -> list[Node]:
        """From the block where it begins to `node`, both included: block, piece, block, piece ..."""
        found: list[Node] = []
        step: Node | None = node
        while step is not None:
            found.append(step)
            step = self.reached[step].source
        return found[::-1]

    def carrying(self, piece: UUID) -> bool:
        """Whether no cleaning has killed it since the piece was reached last."""
        return (piece, len(self.pieces[piece].kills)) in self.reached


Meetings = tuple[Node, Iterable[tuple[Stay, Node]]]
"""What is reached, and the stays in which it meets others."""


_Contact = tuple[datetime, Node, Node, Stay]
"""When, from what, to what, and in which stay of a piece. Plain tuples: there are thousands, most for nothing."""


def follow(book: Book, question: Question) -> Trace:
    """Everything that the disease can have reached. Work: the stays of the carriers that were in reached blocks, once
    for each time that such a block is found to be reached, or reached earlier."""
    return _Following(book, question).to_the_end()


@dataclass
class _Following:
    book: Book
    question: Question
    reached: dict[Node, Reach] = field(default_factory=dict)
    pieces: dict[UUID, Whereabouts] = field(default_factory=dict)
    in_block: dict[str, list[tuple[Stay, Life]]] = field(default_factory=lambda: defaultdict(list))
    of_life: dict[Life, list[Stay]] = field(default_factory=dict)

    def to_the_end(self) -> Trace:
        asked = self.question
        self.reached[asked.block] = Reach(asked.since)
        frontier: list[str] = [asked.block] if asked.since <= asked.until else []
        steps = 0
        while frontier and (asked.steps is None or steps < asked.steps):
            self._meet(self.book.carriers_in({block: self.reached[block].at for block in frontier}))
            found = self._pass_on((block, self.in_block[block]) for block in frontier)
            lives = [node for node in found if not isinstance(node, str)]
            found = self._pass_on((life, _blocks(self.of_life[life])) for life in lives)
            frontier = [node for node in found if isinstance(node, str)]
            steps += 1
        return Trace(asked, self.reached, self.pieces)

    def _meet(self, carriers: Iterable[UUID]) -> None:
        """Learn where pieces were that nobody asked about yet."""
        fresh = sorted(set(carriers) - self.pieces.keys())
        for piece, found in self.book.whereabouts(fresh).items() if fresh else ():
            self.pieces[piece] = found
            for number, stays in enumerate(found.lives()):
                life = piece, number
                self.of_life[life] = stays
                for stay in stays:
                    self.in_block[stay.block].append((stay, life))

    def _pass_on(self, meetings: Iterable[Meetings]) -> list[Node]:
        """The targets that are reached by these, or earlier than before, in order of time. Of several ways that come at
        one moment the first one told counts."""
        contacts = list(self._contacts(meetings))
        sources = {source: self.reached[source].at for source in {contact[1] for contact in contacts}}
        # Neither side is both source and target here, so nothing chains within the call.
        arrivals = earliest_arrivals((each[:3] for each in contacts), sources)
        better: list[Node] = []
        seen: set[Node] = set()
        for at, source, target, stay in sorted(contacts, key=itemgetter(0)):
            if target not in seen and arrivals[target] == at:
                seen.add(target)
                self.reached[target] = Reach(at, source, stay)
                better.append(target)
        return better

    def _contacts(self, meetings: Iterable[Meetings]) -> Iterator[_Contact]:
        """Each meeting of what is reached with what is not, or was later, at the first moment that counts."""
        strict, end, reached = self.question.strict, self.question.until, self.reached
        for source, met in meetings:
            since = reached[source].at
            for stay, target in met:
                at, until = stay.at if stay.at > since else since, stay.until
                if at > end or (until is not None and (at >= until if strict else at > until)):
                    continue
                known = reached.get(target)
                if known is None or at < known.at:
                    yield at, source, target, stay


def _blocks(stays: Iterable[Stay]) -> Iterator[tuple[Stay, str]]:
    return ((stay, stay.block) for stay in stays)
