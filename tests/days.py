"""Days told in short lines, and as entries of the book.

A line is `day hh:mm what ...`, all in UTC of the week that begins on Monday, 1 June 2026; `tue2` is Tuesday of the week
after. What can happen to the item: `dipped`, `washed`, `dirty`, `flagged`, `out WHO [CREW]`, `box [CREW]` (to the crew,
as a spare), `back [wet]`, `missed`, `found`, `stowed`; and to a crew: `arrived BLOCK [CREW]`, `stopped [CREW]`, `left
[CREW]`. The crew is RED where none is named.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

from equipment.domain.fold import fold
from equipment.domain.values import CrewState, Entry, ItemState, Visit
from equipment.domain.verbs import STEPS

MONDAY = datetime(2026, 6, 1, tzinfo=UTC)
DAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
PICKERS = {"ana": 1, "ben": 2, "cleo": 3}
CREWS = ("RED", "BLUE")
COUNTER = UUID(int=7)
OF_A_CREW = ("arrived", "stopped", "left")
DAY = 24 * 60


@dataclass(frozen=True)
class Happening:
    """`minute` counts from Monday midnight; `words` are what happened, and to or with whom."""

    minute: int
    words: tuple[str, ...]

    @property
    def what(self) -> str:
        return self.words[0]

    @property
    def crew(self) -> str:
        return self.words[-1] if self.words[-1] in CREWS else "RED"


def minute(day: str, clock: str) -> int:
    hours, minutes = clock.split(":")
    weeks = int(day[3:] or 1) - 1
    return (weeks * 7 + DAYS.index(day[:3])) * DAY + int(hours) * 60 + int(minutes)


def when(minutes: int) -> datetime:
    return MONDAY + timedelta(minutes=minutes)


def moment(text: str) -> datetime:
    """`mon 05:30` as a time in UTC."""
    return when(minute(*text.split()))


def spoken(at: datetime) -> str:
    """The other way round."""
    week, day = divmod((at - MONDAY).days, 7)
    return f"{DAYS[day]}{week + 1 if week else ''} {at:%H:%M}"


def told(text: str) -> list[Happening]:
    """The happenings of a text, in its order, which is that of the device that wrote them down."""
    lines = (line.split() for line in text.strip().splitlines())
    return [Happening(minute(day, clock), tuple(words)) for day, clock, *words in lines]


def entries(happenings: Iterable[Happening]) -> list[Entry]:
    """As lines of the book, the item's own `registered` first, written down by one device."""
    detail = {"kind": "clippers", "store": "A", "tag": "CL1"}
    born = Entry(UUID(int=1), "registered", MONDAY, COUNTER, 0, "A", detail)
    return [born, *(_entry(number, each) for number, each in enumerate(happenings, start=2))]


def _entry(number: int, each: Happening) -> Entry:
    verb, detail, references = _in_the_book(each)
    return Entry(UUID(int=number), verb, when(each.minute), COUNTER, number, "A", detail, **references)


def _in_the_book(each: Happening) -> tuple[str, dict[str, Any], dict[str, Any]]:
    """Verb, detail and references."""
    crew = {"crew": each.crew}
    match each.what:
        case "dipped" | "washed":
            return "cleaned", {"method": {"dipped": "sterilise", "washed": "wash"}[each.what]}, {}
        case "dirty":
            return "fault_found", {"fault": "dirty"}, {}
        case "flagged":
            return "flagged", {"disease": "exocortis"}, {}
        case "out":
            return "handed_out", {}, {"picker": PICKERS[each.words[1]], **crew}
        case "box":
            return "handed_out", {}, crew
        case "back":
            return "returned", {"wet": "wet" in each.words}, {}
        case "stowed":
            return "stowed", {"block": "N4", "counted": 1}, {"block": "N4"}
        case "arrived":
            return "arrived", {"block": each.words[1]}, {"block": each.words[1], **crew}
        case "stopped":
            return "stopped", {"cause": "break"}, crew
        case other:
            return other, {}, crew if other in OF_A_CREW else {}


def item(lines: Iterable[Entry]) -> ItemState:
    """What the lines add up to for the item."""
    return fold([line for line in lines if line.verb not in OF_A_CREW], ItemState(), STEPS).state


def visits(lines: Iterable[Entry]) -> dict[str, tuple[Visit, ...]]:
    """And for the crews: where each was, and when."""
    of_crews = [line for line in lines if line.verb in OF_A_CREW]
    return {
        crew: fold([line for line in of_crews if line.crew == crew], CrewState(), STEPS).state.visits
        for crew in CREWS
    }
