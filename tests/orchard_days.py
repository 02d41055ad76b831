"""Random days of a crew, as a phone would send them: entries with codes, half of them nonsense, told late at times.

Two crews, three pickers, six pieces of gear, two baths; some days from Monday, 1 June 2026, 04:00 UTC. `draw(random)`
gives a `Day`: its entries up to `cut` are in the book when the sheet is fetched, the rest the phone records.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from random import Random
from typing import Any
from uuid import UUID

from equipment.domain import codes
from tests.days import MONDAY
from tests.rulebook import CATALOGUE

RED, BLUE = "RED", "BLUE"
BADGES = {codes.make("PK", number): number for number in (1, 2, 3)}
CREW_OF = {1: RED, 2: RED, 3: BLUE}
BLOCKS = {"N4": ("orange", True), "S1": ("lemon", False), "W9": ("mandarin", False)}
BATHS = (str(UUID(int=9001)), str(UUID(int=9002)))
PREFIXES = {kind.code: kind.prefix for kind in CATALOGUE.kind}
KINDS = ("bag", "ladder", "gloves", "glove", "first_aid_kit", "goggles", "water_container", "overalls")
RECIPES = [recipe.code for recipe in CATALOGUE.recipe]
FAULTS = [fault.code for fault in CATALOGUE.fault]
# What a crew does most of, so that clocks run and baths fill.
WORK = (
    "out out out box back stowed missed found moved fault fault mended released inspected washed dip dip dip dip dip "
    "flagged arrived arrived arrived arrived arrived arrived left stopped away checked waived replanned over joined "
    "parted mixed tested tested emptied undone"
).split()
# Of the daily bleach, by the recipe as it comes with the program: one takes two pieces, the other fifty.
SMALL = {"litres": 0.2, "product_ml": 20, "strength_pct": 5}
LARGE = {"litres": 5, "product_ml": 500, "strength_pct": 5}
PAUSES = (0, 0, 1, 2, 5, 10, 30, 60, 90, 240)


@dataclass(frozen=True)
class Day:
    """`gear` {tag: kind}; `entries` in the device's order; `at` is when somebody looks; `plans` those of the office;
    `trimmed`: the sheet leaves out who had what before any clock counts."""

    gear: dict[str, str]
    entries: list[dict[str, Any]]
    cut: int
    at: datetime
    plans: list[dict[str, Any]]
    trimmed: bool


def draw(random: Random) -> Day:
    kinds = ["clippers", "clippers", "clippers", *(random.choice(KINDS) for _ in range(3))]
    gear = {codes.make(PREFIXES[kind], number): kind for number, kind in enumerate(kinds, start=1)}
    pen = Pen(random, gear)
    if random.random() < 0.7:
        pen.dawn()
    count = random.randint(4, 60)
    cut = random.randint(0, count)
    for number in range(count):
        if number == cut:
            pen.begin()
        pen.write(random.choice(WORK))
    return Day(
        gear=gear,
        entries=pen.entries,
        cut=len(pen.entries) if pen.began is None else pen.began,
        at=pen.latest + timedelta(minutes=random.choice((-60, 0, 1, 120, 300, 3000))),
        plans=list(_plans(random)),
        trimmed=random.random() < 0.5,
    )


def _plans(random: Random) -> Iterator[dict[str, Any]]:
    for day in (1, 2, 3):
        for part in random.choice(((), ("day",), ("day",), ("morning", "afternoon"), ("afternoon",))):
            state = random.choice(("planned", "planned", "changed", "cancelled"))
            clipped, block = random.random() < 0.5, random.choice(list(BLOCKS))
            yield {
                "date": f"2026-06-0{day}",
                "part": part,
                "block": block,
                "clipped": clipped,
                "state": state,
            }


class Pen:
    """Writes entries down. Before `begin` several devices did, to the microsecond; from then on the phone does, to the
    millisecond, and not before what the book has."""

    def __init__(self, random: Random, gear: dict[str, str]) -> None:
        self.random, self.gear = random, gear
        self.entries: list[dict[str, Any]] = []
        self.now = self.latest = MONDAY + timedelta(hours=4)
        self.first = MONDAY
        self.began: int | None = None

    def begin(self) -> None:
        self.now = self.first = self.latest = self.latest + timedelta(milliseconds=1)
        self.now = self.now.replace(microsecond=self.now.microsecond // 1000 * 1000) + timedelta(
            milliseconds=1
        )
        self.first = self.now
        self.began = len(self.entries)

    def dawn(self) -> None:
        """Everything is washed, dipped in a good bath and handed out."""
        bath = {"bath": BATHS[0]}
        recipe = {"recipe": "clippers_daily_bleach"}
        self._tell({"verb": "mixed", **bath, "detail": {**recipe, **self._one((SMALL, LARGE))}})
        for tag, kind in self.gear.items():
            self._tell({"verb": "cleaned", "item": tag, "detail": {"method": "wash"}})
            if kind == "clippers":
                self._tell(
                    {
                        "verb": "cleaned",
                        "item": tag,
                        **bath,
                        "detail": {"method": "sterilise", "seconds": 600},
                    }
                )
        for tag in self.gear:
            holder = {"crew": RED} if self.random.random() < 0.3 else {"picker": self._one(list(BADGES))}
            self._tell({"verb": "handed_out", "item": tag, **holder})

    def write(self, what: str) -> None:
        """One happening; now and then the clock went back, or somebody tells late."""
        self.now += timedelta(minutes=self.random.choice(PAUSES))
        if self.began is None:
            self.now += timedelta(microseconds=self.random.randrange(10**6))
        happened = self.now
        if self.random.random() < 0.1:
            happened = max(self.first, happened - timedelta(minutes=self.random.randint(1, 200)))
        if (told := getattr(self, f"_{what}")()) is not None:
            self._tell(told, happened)

    def _tell(self, told: dict[str, Any], happened: datetime | None = None) -> None:
        happened = happened or self.now
        self.latest = max(self.latest, happened)
        number = len(self.entries) + 1
        # Ids say nothing about the order.
        own = UUID(int=self.random.getrandbits(120) << 8 | number)
        base = {
            "id": str(own),
            "happened_at": happened.isoformat(),
            "device_seq": number,
            "by": self._one((7, 8)),
        }
        self.entries.append({"detail": {}, **base, **told})

    @property
    def _one(self) -> Callable[[Any], Any]:
        return self.random.choice

    def _of_item(self, verb: str, tags: list[str] | None = None, **fields: Any) -> dict[str, Any]:
        return {"verb": verb, "item": self._one(tags or list(self.gear)), **fields}

    def _of_crew(self, verb: str, crew: str = RED, **fields: Any) -> dict[str, Any]:
        return {"verb": verb, "crew": crew, **fields}

    def _out(self) -> dict[str, Any]:
        detail = self._one(({}, {}, {}, {"from": self._one(list(BADGES))}, {"from": RED}))
        crew = self._one(({}, {}, {}, {"crew": BLUE}))
        return self._of_item("handed_out", picker=self._one(list(BADGES)), detail=dict(detail), **crew)

    def _box(self) -> dict[str, Any]:
        detail = self._one(({}, {"from": self._one(list(BADGES))}))
        return self._of_item("handed_out", crew=self._one((RED, RED, BLUE)), detail=dict(detail))

    def _back(self) -> dict[str, Any]:
        return self._of_item("returned", detail=self._one(({}, {}, {"wet": True})))

    def _stowed(self) -> dict[str, Any]:
        block = self._one(list(BLOCKS))
        crew = self._one(({}, {"crew": RED}))
        return self._of_item("stowed", block=block, detail={"block": block, "counted": 2}, **crew)

    def _missed(self) -> dict[str, Any]:
        return self._of_item("missed")

    def _found(self) -> dict[str, Any]:
        return self._of_item("found", **self._one(({}, {"crew": RED}, {"crew": "red"})))

    def _moved(self) -> dict[str, Any]:
        return self._of_item("moved", detail={"to": self._one("AB")})

    def _fault(self) -> dict[str, Any]:
        return self._of_item("fault_found", detail={"fault": self._one(("dirty", "wet", *FAULTS))})

    def _mended(self) -> dict[str, Any]:
        fault = self._known_fault()
        return self._of_item(
            "mended", detail={"fault": fault, "method": "by hand", "minutes": 5, "where": "orchard"}
        )

    def _released(self) -> dict[str, Any]:
        return self._of_item("released", detail={"fault": self._known_fault()})

    def _known_fault(self) -> str:
        found = [
            each["detail"]["fault"] for each in self.entries if each["verb"] in ("fault_found", "mended")
        ]
        fault: str = self._one(found or FAULTS)
        return fault

    def _inspected(self) -> dict[str, Any] | None:
        kind, tag = self._one([(kind, tag) for tag, kind in self.gear.items()])
        lists = [each for each in CATALOGUE.checklist if each.kind == kind]
        if not lists:
            return None
        chosen = self._one(lists)
        detail = {"checklist": chosen.code, "answers": dict(self._answers(chosen))}
        if kind == "first_aid_kit":
            detail["expiries"] = {
                "eye wash": self._one(("2026-05-30", "2026-06-01", "2026-06-02", "2027-01-01"))
            }
        return self._of_item("inspected", [tag], detail=detail)

    def _answers(self, checklist: Any) -> Iterator[tuple[str, Any]]:
        for point in checklist.point:
            if point.answer == "number":
                yield point.code, self.random.choice((0, 1, 2, 5, 20))
            elif point.answer == "yes_no":
                yield point.code, self._one(("yes", "yes", "no", True, False))
            else:
                yield point.code, self._one(point.choices)

    def _washed(self) -> dict[str, Any]:
        method = self._one(("wash", "wash", "dry"))
        recipe = self._one(({}, {"recipe": self._one(RECIPES)}))
        return self._of_item("cleaned", detail={"method": method, **recipe})

    def _dip(self) -> dict[str, Any]:
        clippers = [tag for tag, kind in self.gear.items() if kind == "clippers"]
        tags = clippers if self.random.random() < 0.9 else list(self.gear)
        detail: dict[str, Any] = {"method": "sterilise", "each_scanned": self.random.random() < 0.5}
        if self.random.random() < 0.9:
            detail["seconds"] = self._one((0, 1, 10, 60, 600, 600, 1200))
        if self.random.random() < 0.4:
            detail["recipe"] = self._one(RECIPES)
        bath = {"bath": self._one(BATHS)} if self.random.random() < 0.8 else {}
        return self._of_item("cleaned", tags, detail=detail, **bath)

    def _flagged(self) -> dict[str, Any]:
        return self._of_item("flagged", detail={"disease": self._one(("exocortis", "brown_rot"))})

    def _arrived(self) -> dict[str, Any]:
        block = self._one(("N4", "N4", "S1", "W9"))
        return self._of_crew(
            "arrived", self._one((RED, RED, BLUE)), block=block.lower(), detail={"block": block}
        )

    def _left(self) -> dict[str, Any]:
        return self._of_crew("left", self._one((RED, RED, BLUE)))

    def _stopped(self) -> dict[str, Any]:
        return self._of_crew(
            "stopped", self._one((RED, BLUE)), detail={"cause": self._one(("break", "rain"))}
        )

    def _away(self) -> None:
        """Night falls."""
        self.now += timedelta(hours=self.random.choice((9, 14)))

    def _checked(self) -> dict[str, Any]:
        chosen = next(each for each in CATALOGUE.checklist if each.code == "morning")
        return self._of_crew("morning_checked", detail={"answers": dict(self._answers(chosen))})

    def _waived(self) -> dict[str, Any]:
        kind = self._one(("gloves", "clippers", "bag"))
        return self._of_crew("waived", picker=self._one(list(BADGES)), detail={"kind": kind})

    def _replanned(self) -> dict[str, Any]:
        detail = {"date": f"2026-06-0{self._one((1, 1, 2))}", "clipped": self._one((True, False))}
        part = self._one(({}, {"part": self._one(("day", "morning", "afternoon"))}))
        return self._of_crew("replanned", detail={**detail, **part, **self._one(({}, {"block": "S1"}))})

    def _over(self) -> dict[str, Any]:
        return self._of_crew("taken_over")

    def _joined(self) -> dict[str, Any] | None:
        return self._changed("joined")

    def _parted(self) -> dict[str, Any] | None:
        return self._changed("parted")

    def _changed(self, verb: str) -> dict[str, Any] | None:
        """A picker is lent and comes back, by the phone alone: a sheet tells of one crew for each, the last."""
        if self.began is None:
            return None
        return self._of_crew(verb, self._one((RED, BLUE)), picker=self._one(list(BADGES)))

    def _mixed(self) -> dict[str, Any]:
        detail: dict[str, Any] = {
            "recipe": self._one(("clippers_daily_bleach", "clippers_daily_bleach", *RECIPES)),
            "litres": self._one((0.2, 1, 5, 20, 7.3)),
            "product_ml": self._one((50, 100, 133.3, 500, 2000, 1234.5)),
        }
        if self.random.random() < 0.5:
            detail["strength_pct"] = self._one((1, 3.5, 5, 5.25, 12.5, 70))
        if self.random.random() < 0.3:
            detail["product_expires"] = self._one(("2026-05-31", "2026-06-01", "2026-06-02"))
        if self.random.random() < 0.6:
            detail["ph"] = self._one((5.9, 6, 6.5, 7.5, 7.6))
        return {"verb": "mixed", "bath": self._one(BATHS), "detail": detail}

    def _tested(self) -> dict[str, Any]:
        ppm = self._one((0, 60, 100, 200, 500, 2000, 5000, 5000, 5000, 5000, 5200.5))
        return {
            "verb": "tested",
            "bath": self._one(BATHS),
            "detail": {"ppm": ppm, **self._one(({}, {"diluted": 10}))},
        }

    def _emptied(self) -> dict[str, Any]:
        return {"verb": "emptied", "bath": self._one(BATHS), "detail": {"where": "sewer"}}

    def _undone(self) -> dict[str, Any] | None:
        """Takes back a line that the same device wrote, once."""
        gone = {each["detail"].get("entry") for each in self.entries}
        left = [e for e in self.entries[self.began or 0 :] if e["verb"] != "reversed" and e["id"] not in gone]
        if not left:
            return None
        one = self._one(left)
        subject = next(name for name in ("item", "bath", "crew") if name in one)
        return {"verb": "reversed", subject: one[subject], "detail": {"entry": one["id"]}}
