"""Does a printed register still agree with the book, and what has come to its question since?

Reads only. What takes long tells how far it is: the chains up to the heads that were printed are followed entry by
entry, and the lines read once more as of then.
"""

import re
from collections.abc import Generator, Iterable, Iterator
from dataclasses import dataclass
from hashlib import sha256
from uuid import UUID

from equipment.actions.print_register import canonical
from equipment.actions.verify_book import Finding
from equipment.actions.verify_book.chains import up_to
from equipment.actions.verify_book.gear import gear_differs
from equipment.actions.verify_printing.heads import Rewritten, rewritten
from equipment.actions.verify_printing.meanwhile import Since, since
from equipment.models import Printing
from equipment.models.registers import REGISTERS, Line

__all__ = ["Problems", "Progress", "Rewritten", "Since", "Verdict", "entries_named", "verify", "verifying"]

# As many findings as a person reads: the first ones are named, the others counted.
NAMED = 50
TOLD_EACH = 2_000
ID = r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}"


@dataclass(frozen=True, slots=True)
class Progress:
    """So many of all entries and lines are looked at."""

    done: int
    total: int


@dataclass(frozen=True)
class Problems:
    """`found` findings of the chains up to the heads, of which the first are `findings`; `on_paper` are the entries
    among them that have a line on the paper. `rewritten`: heads that the book no longer has. `gear`: findings of the
    list of gear, asked for only where the lines differ and nothing else tells why."""

    found: int = 0
    findings: tuple[Finding, ...] = ()
    on_paper: frozenset[UUID] = frozenset()
    rewritten: tuple[Rewritten, ...] = ()
    gear: tuple[Finding, ...] = ()


@dataclass(frozen=True)
class Verdict:
    """`lines` and `digest` are those of the book as of the printed heads, worked out just now; `read` is what was read
    of the paper's own digest, "" where only the code was."""

    printing: Printing
    read: str
    lines: int
    digest: str
    problems: Problems
    since: Since

    @property
    def lines_agree(self) -> bool:
        """With what was kept of the printing, and with the paper itself where it was read."""
        kept = (self.lines, self.digest) == (self.printing.lines, self.printing.digest)
        return kept and self.record_agrees

    @property
    def record_agrees(self) -> bool:
        """Whether what was kept of the printing is what the paper says."""
        return self.printing.digest.startswith(self.read)

    @property
    def paper_agrees(self) -> bool:
        """Whether the book says what the paper says, although what was kept of the printing may not."""
        return bool(self.read) and self.digest.startswith(self.read)

    @property
    def outdated(self) -> bool:
        """Whether the register's lines are made otherwise now than when it was printed, so that they cannot agree."""
        return self.printing.version != REGISTERS[self.printing.register].version

    @property
    def book_agrees(self) -> bool:
        return not self.problems.found and not self.problems.rewritten

    @property
    def agrees(self) -> bool:
        return self.lines_agree and self.book_agrees


def verify(printing: Printing, read: str = "") -> Verdict:
    steps = verifying(printing, read)
    while True:
        try:
            next(steps)
        except StopIteration as done:
            return done.value  # type: ignore[no-any-return]


def verifying(printing: Printing, read: str = "") -> Generator[Progress, None, Verdict]:
    """`read` is the paper's own digest, or its beginning, in lower case. The register must still be known."""
    register, heads = REGISTERS[printing.register], printing.at_heads
    total = sum(position for position, _digest in heads.values()) + printing.lines
    done, found, findings = 0, 0, []
    for store, (position, seal) in heads.items():
        for some, problems in up_to(store, position, seal):
            done, found = done + some, found + len(problems)
            findings += problems[: NAMED - len(findings)]
            yield Progress(done, total)
    accused, on_paper = entries_named(findings), set[UUID]()
    met = _met(register.lines(printing.what, heads), accused, on_paper)
    sha, lines = sha256(), -2  # what was asked and the heads come before the lines
    for lines, each in enumerate(canonical(register, printing.what, heads, met), start=-1):
        sha.update(each + b"\n")
        if lines % TOLD_EACH == 0:
            yield Progress(min(done + lines, total), total)
    others = tuple(each for each in rewritten(printing) if each.entry not in accused)
    known = (lines, sha.hexdigest()) == (printing.lines, printing.digest)
    gear = () if known or findings or others else tuple(gear_differs())[:NAMED]
    later = since(register, printing.what, heads)
    problems = Problems(found, tuple(findings), frozenset(on_paper), others, gear)
    return Verdict(printing, read, lines, sha.hexdigest(), problems, later)


def entries_named(findings: Iterable[Finding]) -> set[UUID]:
    """The entries that findings speak of, by the ids in their words."""
    lines = (str(finding.params.get("line", "")) for finding in findings)
    return {UUID(found) for line in lines for found in re.findall(ID, line)}


def _met(lines: Iterable[Line], wanted: set[UUID], met: set[UUID]) -> Iterator[Line]:
    for line in lines:
        met |= wanted.intersection(line.entries)
        yield line
