"""A small farm whose clippers are used and fail, for the figures: entries at times past, told day by day."""

from dataclasses import dataclass, field
from typing import Any

from tests.cast import Farm
from tests.printing import at, write

SPRING, LOOP = "clippers_worn_spring", "clippers_loose_loop"


@dataclass
class Wearing:
    """`days_ago` counts from today; a day of use is 06:00 to 15:30, the crew in its block 07:00 to 15:00 but for an
    hour: seven hours in use."""

    farm: Farm
    first: int = 26
    visited: set[tuple[str, int]] = field(default_factory=set)

    def gear(
        self, count: int, make: str, delivery: str = "", kind: str = "clippers", **traits: Any
    ) -> list[str]:
        traits |= {"make": make, "delivery": delivery}
        return self.farm.gear(kind, count, days_ago=self.first + 2, **traits)

    def visit(self, days_ago: int, crew: str = "red") -> None:
        if (crew, days_ago) in self.visited:
            return
        self.visited.add((crew, days_ago))
        for clock, verb, fields in (
            ("07:00", "arrived", {"block": "N4", "detail": {"block": "N4"}}),
            ("10:00", "stopped", {"detail": {"cause": "break"}}),
            ("11:00", "arrived", {"block": "N4", "detail": {"block": "N4"}}),
            ("15:00", "left", {}),
        ):
            write(self.farm, verb, at(days_ago, clock), crew=crew, **fields)

    def day(self, tag: str, days_ago: int, fault: str = "", crew: str = "red", when: str = "13:00") -> None:
        """Out and back; a fault is found at `when`, and the piece comes back in the evening all the same."""
        self.visit(days_ago, crew)
        picker = {"red": "ana", "blue": "cy"}[crew]
        write(self.farm, "handed_out", at(days_ago), tag, crew=crew, picker=picker)
        if fault:
            write(self.farm, "fault_found", at(days_ago, when), tag, detail={"fault": fault})
        write(self.farm, "returned", at(days_ago, "15:30"), tag)

    def mend(self, tag: str, days_ago: int, fault: str = SPRING, minutes: int = 5) -> None:
        detail = {"fault": fault, "method": "new spring", "minutes": minutes, "where": "shed"}
        write(self.farm, "mended", at(days_ago, "17:00"), tag, by="mo", detail=detail)

    def write_off(self, tag: str, days_ago: int, how: str) -> None:
        write(self.farm, "written_off", at(days_ago, "18:00"), tag, detail={"circumstance": how})


def worn(farm: Farm) -> Wearing:
    """Make A's springs last four to six days of use, make B's clippers all seven; one of B is lost."""
    story = Wearing(farm)
    for place, tag in enumerate(story.gear(6, "A", "D1")):
        last = 3 + place % 3
        for day in range(last + 1):
            story.day(tag, story.first - day, SPRING if day == last else "")
    sound = story.gear(6, "B", "D2", price=150)
    for tag in sound:
        for day in range(7):
            story.day(tag, story.first - day, crew="blue")
    story.write_off(sound[0], story.first - 13, "lost")
    return story
