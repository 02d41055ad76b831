"""Faults and what was done about them: found, set aside, mended, passed; what is still open says so."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

from django.db.models import Max, Q
from django.utils import timezone

from equipment.domain.rules import Rules
from equipment.domain.verbs.cleaned import CLEANINGS
from equipment.domain.words import gettext_noop
from equipment.models import rules
from equipment.models.book import Entry
from equipment.models.registers._courses import ENDED_BY, ONLY_ENDS, TOLD_BY, Course, courses, faults_of
from equipment.models.registers._lives import Stood, lives
from equipment.models.registers._phrases import word
from equipment.models.registers.base import Asked, Cell, Column, Heads, Line, Named, Register, Tally
from equipment.models.registers.reading import at_heads, before, in_period, standing, where

SEVERITIES = {
    "stop_use": gettext_noop("stops its use"),
    "mend_by": gettext_noop("to be mended in time"),
    "note": gettext_noop("written down only"),
}
WAITS = {
    "second": gettext_noop("waits for a second look"),
    "officer": gettext_noop("waits for the safety officer"),
}
PASSED_BY = {
    "second": gettext_noop("by a second look"),
    "officer": gettext_noop("by the safety officer"),
}
PLACES = {"shed": gettext_noop("in the shed"), "orchard": gettext_noop("in the orchard")}
CARRIED = gettext_noop("carried over")
OPEN = gettext_noop("still open")
DONE = gettext_noop("done")
GONE = gettext_noop("written off")
AGAIN = gettext_noop("found again")
KNOWN = gettext_noop("known since")
BY_MENDER = gettext_noop("by the mender")
IN_USE = gettext_noop("not back yet")
ON_THE_SPOT = gettext_noop("mended where it was")
GOES_UNTIL = gettext_noop("goes out until")
GOES = gettext_noop("goes out")


def lines(asked: Asked, heads: Heads) -> Iterator[Line]:
    """First those that were found before the period and were open when it began, then those found in it."""
    limits = ("store", "crew", "kind", "tag")
    newest, last = rules.version(), _last(heads)
    for rows in (before(asked, heads, *limits), in_period(asked, heads, *limits)):
        found = rows.select_related("item").filter(Q(verb="fault_found") | Q(detail__has_key="failed"))
        for some in standing(found, ["fault_found", "inspected"], heads):
            for entry, course in _told(some, asked, heads):
                at_the_time = rules.rules_at(entry.happened_at, newest)
                cells = _cells(entry, course, at_the_time, last, entry.happened_at < asked.since)
                yield Line(entry.pk, entry.happened_at, where(entry), cells)


def _told(some: list[Entry], asked: Asked, heads: Heads) -> Iterator[tuple[Entry, Course]]:
    """Each fault that an entry found, with its course; of those from before the period only what was open when it
    began, once."""
    if some and some[0].happened_at < asked.since:
        short = _courses({entry.item_id for entry in some}, heads, ENDED_BY, ONLY_ENDS)
        still = {course.found.id for course in short.values() if _open_at(course, asked.since)}
        some = [entry for entry in some if entry.pk in still]
    told = _courses({entry.item_id for entry in some}, heads, TOLD_BY)
    for entry in some:
        for fault in faults_of(entry):
            course = told[entry.pk, fault]
            new = entry.happened_at >= asked.since
            if new or (course.found.id == entry.pk and _open_at(course, asked.since)):
                yield entry, course


def _open_at(course: Course, moment: datetime) -> bool:
    return course.ended is None or course.ended.happened_at >= moment


def _courses(items: Any, heads: Heads, verbs: list[str], only: Q | None = None) -> dict[Any, Course]:
    found: dict[Any, Course] = {}
    for _item, life in lives(items, heads, verbs, only) if items else ():
        found |= courses(life)
    return found


def _last(heads: Heads) -> datetime:
    """When the book's last line at `heads` was written: what is open is open until then."""
    tips = Q()
    for store, (position, _digest) in heads.items():
        tips |= Q(store=store, position=position)
    found: datetime | None = at_heads(heads).filter(tips).aggregate(last=Max("recorded_at"))["last"]
    return found or timezone.now()


def _cells(entry: Entry, course: Course, rules: Rules, last: datetime, carried: bool) -> tuple[Cell, ...]:
    assert entry.item is not None  # noqa: S101 the verb's family says so
    rule = rules.fault(course.fault)
    ended, mended = course.ended, course.mended
    until = ended.happened_at if ended else last
    mark = (word(CARRIED),) if carried else ()
    days = (timezone.localdate(until) - timezone.localdate(course.found.happened_at)).days
    return (
        (*mark, entry.happened_at, Named("user", entry.by_id), Named("crew", entry.crew_id or "")),
        (Named("kind", entry.item.kind_id), Named("tag", str(entry.item_id))),
        _fault(entry, course),
        word(SEVERITIES[rule.severity]),
        _aside(course, rule.severity, rule.within_days),
        (mended.happened_at, Named("user", mended.by or 0), *_place(mended)) if mended else None,
        _how(mended) if mended else None,
        mended.detail.get("minutes") if mended else None,
        _passed(course),
        max(days, 0),
        word(_state(course)),
    )


def _fault(entry: Entry, course: Course) -> Cell:
    note = Named("note", str(entry.pk), entry.note_digest) if entry.note_digest else None
    if course.found.id == entry.pk:
        return Named("fault", course.fault), note
    return Named("fault", course.fault), word(KNOWN), course.found.happened_at, note


def _aside(course: Course, severity: str, within_days: int | None) -> Cell:
    """When it was taken out of use, where it must be; else how long it may go on."""
    if severity == "mend_by":
        until = course.found.happened_at + timedelta(days=within_days or 0)
        return word(GOES_UNTIL), until
    if severity == "note":
        return word(GOES)
    if course.aside is None:
        return word(ON_THE_SPOT if course.mended else IN_USE)
    return course.aside


def _place(mended: Stood) -> tuple[Cell, ...]:
    place = PLACES.get(mended.detail.get("where", "shed" if mended.verb == "mended" else ""))
    return (word(place),) if place else ()


def _how(mended: Stood) -> Cell:
    if mended.verb == "cleaned":
        return word(CLEANINGS[mended.detail["method"]]), Named("recipe", mended.detail.get("recipe") or "")
    return mended.detail["method"], mended.detail.get("parts", "")


def _passed(course: Course) -> Cell:
    if course.waits:
        return word(WAITS[course.waits])
    if course.passed is not None and course.mended is not None:
        how = PASSED_BY[course.mended.detail["release"]]
        return course.passed.happened_at, Named("user", course.passed.by or 0), word(how)
    return word(BY_MENDER) if course.mended is not None and course.ended is course.mended else None


def _state(course: Course) -> str:
    if course.ended is None:
        return OPEN
    return {"written_off": GONE, "fault_found": AGAIN, "inspected": AGAIN}.get(course.ended.verb, DONE)


class Faults(Tally):
    """How many are still open, of those how many stop the use of a piece, and how many were found again."""

    def __init__(self) -> None:
        super().__init__()
        self.open = self.stopping = self.again = self.carried = 0

    def add(self, line: Line) -> None:
        super().add(line)
        found, severity, state = line.cells[0], line.cells[3], line.cells[-1]
        self.carried += isinstance(found, tuple) and found[0] == word(CARRIED)
        still = state == word(OPEN)
        self.open += still
        self.stopping += still and severity == word(SEVERITIES["stop_use"])
        self.again += state == word(AGAIN)

    def said(self) -> list[tuple[str, dict[str, Any]]]:
        found = gettext_noop("Found in these days: %(found)s. Carried over from before: %(carried)s.")
        open_ones = gettext_noop("Still open: %(open)s, of these %(stopping)s that stop the use of a piece.")
        again = gettext_noop("Found again before the mend was passed: %(again)s.")
        return [
            (found, {"found": self.lines - self.carried, "carried": self.carried}),
            (open_ones, {"open": self.open, "stopping": self.stopping}),
            (again, {"again": self.again}),
        ]


REGISTER = Register(
    name="faults",
    title=gettext_noop("Faults and what was done"),
    about=gettext_noop(
        "Each fault found: set aside, mended how and when, passed by whom; what is still open."
    ),
    columns=(
        Column("found", gettext_noop("Found"), 1.9),
        Column("item", gettext_noop("Piece"), 1.1),
        Column("fault", gettext_noop("Fault"), 1.5),
        Column("severity", gettext_noop("Severity"), 1),
        Column("aside", gettext_noop("Set aside"), 1.3),
        Column("mended", gettext_noop("Mended"), 1.7),
        Column("how", gettext_noop("How, and parts"), 2),
        Column("minutes", gettext_noop("Minutes"), 0.6, "right"),
        Column("passed", gettext_noop("Passed"), 1.5),
        Column("days", gettext_noop("Days open"), 0.6, "right"),
        Column("state", gettext_noop("State"), 0.9),
    ),
    lines=lines,
    filters=frozenset({"store", "crew", "kind", "tag"}),
    notes=(
        gettext_noop(
            "First, marked “carried over”, stand the faults that were found before these days and were open when they "
            "began."
        ),
        gettext_noop(
            "Severity is by the rules of the day on which the fault was found. A mend that came after the period, "
            "and before this was printed, is shown. Days open are counted to the day on which the piece was let go, "
            "or to the last line of the book."
        ),
    ),
    cautions=("ladder", "clippers"),
    signatures=(gettext_noop("Mender"), gettext_noop("Safety officer")),
    tally=Faults,
)
