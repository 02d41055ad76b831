"""What became of faults: who mended them, who passed the mends, and when the piece lay aside."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db.models import Q

from equipment.domain.faults import DIRTY, WET
from equipment.models.registers._lives import Stood

# All that can begin, mend or end a fault, or take the piece from those who use it.
TOLD_BY = "fault_found inspected mended released cleaned written_off handed_out returned stowed missed found".split()
# What ends a fault, or finds it anew: the few lines of a life that say whether it is open.
ENDED_BY = "fault_found inspected mended released cleaned written_off".split()
ONLY_ENDS = (~Q(verb="inspected") | Q(detail__has_key="failed")) & ~Q(
    verb="cleaned", detail__method="sterilise"
)
Finding = tuple[UUID, str]
"""The entry that found it, and the fault."""


@dataclass(slots=True)
class Course:
    """A fault from its finding to its end. `aside` is when the piece first lay in a store with it, None where it was
    in use all the time. `ended` is the line that ended it: its mend or cleaning, the word that passed the mend, a
    write-off, or finding it again before anybody had passed the mend."""

    fault: str
    found: Stood
    aside: datetime | None = None
    mended: Stood | None = None
    passed: Stood | None = None
    ended: Stood | None = None

    @property
    def waits(self) -> str:
        """Who must still pass the mend: "second", "officer", or "" for nobody."""
        if self.mended is None or self.ended is not None:
            return ""
        return str(self.mended.detail.get("release", ""))


def courses(life: Iterable[Stood]) -> dict[Finding, Course]:
    """The course that each finding belongs to: a fault that is found again while it is open stays the one it was."""
    walk = _Walk()
    for entry in life:
        walk.take(entry)
    return walk.found


class _Walk:
    """Through an item's life; `here`: it lies in a store."""

    def __init__(self) -> None:
        self.found: dict[Finding, Course] = {}
        self.open: dict[str, Course] = {}
        self.here = True

    def take(self, entry: Stood) -> None:
        match entry.verb:
            case "fault_found" | "inspected":
                for fault in faults_of(entry):
                    self._find(entry, fault)
            case "mended":
                self._mend(entry)
            case "released":
                self._pass(entry)
            case "cleaned":
                self._clean(entry)
            case "written_off":
                for fault in list(self.open):
                    self._end(fault, entry)
            case "handed_out" | "stowed" | "missed":
                self.here = False
            case "returned" | "found":
                self._come_back(entry)

    def _find(self, entry: Stood, fault: str) -> None:
        known = self.open.get(fault)
        if known is None or known.mended is not None:
            if known is not None:
                self._end(fault, entry)
            known = self.open[fault] = Course(fault, entry, entry.happened_at if self.here else None)
        self.found[entry.id, fault] = known

    def _mend(self, entry: Stood) -> None:
        fault = entry.detail["fault"]
        if known := self.open.get(fault):
            known.mended = entry
            if not entry.detail.get("release"):
                self._end(fault, entry)

    def _pass(self, entry: Stood) -> None:
        known = self.open.get(entry.detail["fault"])
        if known is None or known.mended is None:
            return
        if known.mended.detail.get("release") == "second" and known.mended.by == entry.by:
            return
        known.passed = entry
        self._end(known.fault, entry)

    def _clean(self, entry: Stood) -> None:
        """Dirt is washed off and wet dried, which is their mending."""
        fault = {"wash": DIRTY, "dry": WET}.get(entry.detail["method"], "")
        needs = entry.detail.get("needs_seconds") or 0
        if entry.detail.get("wrong") or (entry.detail.get("seconds") or 0) < needs:
            return
        if known := self.open.get(fault):
            known.mended = entry
            self._end(fault, entry)

    def _end(self, fault: str, entry: Stood) -> None:
        self.open.pop(fault).ended = entry

    def _come_back(self, entry: Stood) -> None:
        self.here = entry.verb == "returned" or entry.crew is None
        for known in self.open.values() if self.here else ():
            known.aside = known.aside or entry.happened_at


def faults_of(entry: object) -> Iterator[str]:
    """What the entry found: its own fault, or each that a failed point opened, in an order of their own."""
    detail = entry.detail  # type: ignore[attr-defined]
    if "fault" in detail:
        yield detail["fault"]
    yield from sorted({fault for fault in detail.get("failed", {}).values() if fault})
