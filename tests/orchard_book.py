"""A book in memory, to hold a phone to: entries with codes, folded by the rules of `equipment.domain`.

What the server does around them with a database (who is who, what is sealed in, which dips count) is done here once
more, plainly; and a crew's sheet of it, without what is the same on all sheets: that is `TRADE`.
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from pydantic import TypeAdapter

from crews.models import Block, DayPlan
from equipment.domain import bath, carried, checklist, condition, custody, kit, values
from equipment.domain.condition import Around
from equipment.domain.fold import fold
from equipment.domain.sealing import Facts, sealed
from equipment.domain.verbs import STEPS
from equipment.models import kits, replanning
from equipment.models.sheet import trade
from tests.days import COUNTER, MONDAY
from tests.orchard_days import BADGES, BATHS, BLOCKS, BLUE, CREW_OF, RED, Day
from tests.rulebook import CATALOGUE, RULES

ZONE = "Australia/Brisbane"
STORE = "A"
ITEM, CREW, BATH = (
    TypeAdapter(values.ItemState),
    TypeAdapter(values.CrewState),
    TypeAdapter(values.BathState),
)
VISITS = TypeAdapter(dict[str, list[values.Visit]])
START: Mapping[str, values.State] = {
    "item": values.ItemState(),
    "crew": values.CrewState(),
    "bath": values.BathState(),
}
STRENGTHS = {agent.code: agent.strength_pct for agent in CATALOGUE.agent if agent.strength_pct}
TRADE = {
    "kinds": [kind.model_dump(mode="json") for kind in CATALOGUE.kind],
    "rules": trade.RULES.dump_python(RULES, mode="json"),
    "kit": trade.KIT.dump_python(kits.rules(), mode="json"),
    "recipes": [{**each, "strength_pct": STRENGTHS.get(each["agent"])} for each in trade.recipes(RULES)],
    "checklists": [
        {
            "code": each.code,
            "kind": each.kind,
            "points": [point.model_dump(mode="json") for point in each.point],
        }
        for each in CATALOGUE.checklist
    ],
}


class Book:
    """The gear is registered and the pickers are in their crews; then `write`."""

    def __init__(self, day: Day) -> None:
        self.plans = [_plan(number, told) for number, told in enumerate(day.plans)]
        self.lines: dict[tuple[str, str], list[values.Entry]] = defaultdict(list)
        self.in_crews = {picker: [crew] for picker, crew in CREW_OF.items()}
        self.last_crew = dict(CREW_OF)
        self._folds: dict[tuple[str, str], Any] = {}
        for number, (tag, kind) in enumerate(day.gear.items()):
            detail = {"kind": kind, "store": STORE, "tag": tag}
            born = values.Entry(UUID(int=number + 1), "registered", MONDAY, COUNTER, 0, STORE, detail)
            self.lines["item", tag].append(born)
        for picker, crew in CREW_OF.items():
            own = UUID(int=100 + picker)
            joined = values.Entry(own, "joined", MONDAY, COUNTER, 0, STORE, picker=picker, crew=crew)
            self.lines["crew", crew].append(joined)

    def write(self, told: Mapping[str, Any]) -> None:
        subject = next((name, told[name].upper()) for name in ("item", "bath", "crew") if name in told)
        if subject[0] == "bath":
            subject = ("bath", told["bath"])
        if told["verb"] == "reversed":
            self._take_back(UUID(told["detail"]["entry"]))
        picker = BADGES.get(told.get("picker", ""))
        line = values.Entry(
            id=UUID(told["id"]),
            verb=told["verb"],
            happened_at=datetime.fromisoformat(told["happened_at"]),
            device=COUNTER,
            device_seq=told["device_seq"],
            store=STORE,
            detail=self._detail(told, subject),
            picker=picker,
            crew=self._crew(told, picker, subject),
            block=told["block"].upper() if "block" in told else None,
            bath=UUID(told["bath"]) if "bath" in told else None,
            by=told["by"],
        )
        self.lines[subject].append(line)
        self._folds.pop(subject, None)
        self._move(line)

    def _take_back(self, entry: UUID) -> None:
        """Who is in which crew is told from the start again."""
        every = [line for lines in self.lines.values() for line in lines]
        gone = {UUID(each.detail["entry"]) for each in every if each.verb == "reversed"} | {entry}
        self.in_crews = {picker: [crew] for picker, crew in CREW_OF.items()}
        self.last_crew = dict(CREW_OF)
        for line in sorted(every, key=lambda each: each.device_seq):
            if line.device_seq and line.id not in gone:
                self._move(line)

    def _move(self, line: values.Entry) -> None:
        if line.verb not in ("joined", "parted") or line.picker is None or line.crew is None:
            return
        crews = self.in_crews[line.picker]
        if line.verb == "joined" and line.crew not in crews:
            crews.append(line.crew)
            self.last_crew[line.picker] = line.crew
        elif line.verb == "parted" and line.crew in crews:
            crews.remove(line.crew)
            self.last_crew[line.picker] = crews[-1] if crews else line.crew

    def crew_of(self, picker: int) -> str | None:
        """The one joined last, of those not left."""
        return self.in_crews[picker][-1] if self.in_crews[picker] else None

    def _crew(self, told: Mapping[str, Any], picker: int | None, subject: tuple[str, str]) -> str | None:
        if "crew" in told:
            crew: str = told["crew"].upper()
            return crew
        if subject[0] != "item":
            return None
        if picker is not None:
            return self.last_crew[picker]
        return None if told["verb"] == "found" else self.item(subject[1]).crew

    def _detail(self, told: Mapping[str, Any], subject: tuple[str, str]) -> dict[str, Any]:
        detail = dict(told["detail"])
        if given := detail.get("from"):
            detail["from"] = custody.holder(BADGES.get(given), given if given == RED else None)
        alone = "picker" in told and "crew" not in told and self.crew_of(BADGES[told["picker"]]) is None
        if alone and told["verb"] == "handed_out":
            detail["verdict"] = ["picker_left"]
        happened = datetime.fromisoformat(told["happened_at"])
        facts = Facts(
            rules=RULES,
            kind=self.item(subject[1]).kind if subject[0] == "item" else "",
            bath=self.bath(told["bath"]) if "bath" in told else None,
            day=happened.astimezone(ZoneInfo(ZONE)).date(),
            strengths=STRENGTHS,
            judge=lambda code, answers: self._judge(
                code, answers, happened.astimezone(ZoneInfo(ZONE)).date()
            ),
        )
        return {**detail, **sealed(told["verb"], detail, facts)}

    def _judge(self, code: str, answers: Mapping[str, Any], day: date) -> dict[str, str]:
        points = next(each.point for each in CATALOGUE.checklist if each.code == code)
        lines = kits.asked(self.plans_of(day), int(answers.get("present", 0)), "crew")
        needs = {line.kind: line.quantity for line in lines if line.need == "required"}
        return checklist.failed(points, answers, needs)

    def _folded(self, family: str, key: str) -> Any:
        if (family, key) not in self._folds:
            self._folds[family, key] = fold(self.lines[family, key], START[family], STEPS).state
        return self._folds[family, key]

    def item(self, tag: str) -> values.ItemState:
        found: values.ItemState = self._folded("item", tag)
        return found

    def crew(self, code: str) -> values.CrewState:
        found: values.CrewState = self._folded("crew", code)
        return found

    def team(self) -> values.CrewState:
        """The red crew, without those who joined another one since."""
        state = self.crew(RED)
        members = {who: since for who, since in state.members.items() if self.crew_of(who) == RED}
        return replace(state, members=members)

    def bath(self, own: str) -> values.BathState:
        found: values.BathState = self._folded("bath", own)
        return found

    def baths(self) -> list[str]:
        """Those that were written of, be it that something was dipped in them; what was taken back is nothing."""
        return [own for own in BATHS if self.bath(own) != values.BathState() or self.dips(own)]

    def plans_of(self, day: date | None = None) -> list[DayPlan]:
        """Those that stand, of a day or of all; cancelled ones only among all."""
        blocks = {code: _block(code) for code in BLOCKS}
        plans = list(self.plans)
        for change in self.crew(RED).replanned:
            plans = replanning._apply(plans, RED, change, {}, blocks)
        plans.sort(key=lambda plan: (plan.date, plan.part == "afternoon"))
        if day is None:
            return plans
        return [plan for plan in plans if plan.date == day and plan.state != "cancelled"]

    def dips(self, own: str) -> list[tuple[datetime, UUID]]:
        """Of this bath, those that were not taken back, in order of time."""
        lines = [line for (family, _), lines in self.lines.items() if family == "item" for line in lines]
        gone = {UUID(line.detail["entry"]) for line in lines if line.verb == "reversed"}
        into = [line for line in lines if line.verb == "cleaned" and line.bath == UUID(own)]
        return sorted((line.happened_at, line.id) for line in into if line.id not in gone)

    def void(self, tag: str) -> dict[UUID, str]:
        """Why cleanings of the piece do not count, by their baths."""
        found = {}
        for own in {str(each.bath) for each in self.item(tag).cleanings if each.bath}:
            for nth, (at, entry) in enumerate(self.dips(own), start=1):
                if why := bath.against_dip(self.bath(own), at, nth):
                    found[entry] = why
        kept = {each.entry for each in self.item(tag).cleanings}
        return {entry: why for entry, why in found.items() if entry in kept}

    def around(self, tag: str) -> Around:
        return Around({code: self.crew(code).visits for code in (RED, BLUE)}, self.void(tag))

    def condition(self, tag: str) -> condition.Condition:
        return condition.condition(self.item(tag), RULES, self.around(tag))

    def held(self, picker: int | None, gear: Mapping[str, str]) -> dict[str, int]:
        """Pieces by kind that the picker has, or the crew as such where `picker` is None."""
        counts: dict[str, int] = defaultdict(int)
        for tag, kind in gear.items():
            state = self.item(tag)
            mine = state.place == "crew" and state.crew == RED if picker is None else state.place == "picker"
            if mine and state.picker == picker:
                counts[kind] += 1
        return counts

    def waived(self, picker: int, day: date) -> list[str]:
        lines = self.crew(RED).waived
        return [
            kind for who, kind, at in lines if who == picker and at.astimezone(ZoneInfo(ZONE)).date() == day
        ]

    def lines_for(self, holder: str, day: date, present: int) -> tuple[kit.KitLine, ...]:
        return kits.asked(self.plans_of(day), present, holder)


def sheet(book: Book, day: Day) -> dict[str, Any]:
    """The red crew's sheet, as the server gives it, but for `TRADE`."""
    cards = {picker: badge for badge, picker in BADGES.items()}
    people = [
        {"picker": picker, "badge": cards[picker], "number": str(picker), "crew": book.crew_of(picker)}
        for picker in CREW_OF
    ]
    blue = book.crew(BLUE).visits
    return {
        "v": 1,
        "day": "2026-06-01",
        "time_zone": ZONE,
        "store": STORE,
        "crew": {"code": RED},
        "crews": [{"code": RED}, {"code": BLUE}],
        "members": [each for each in people if each["crew"] == RED],
        "other_pickers": [each for each in people if each["crew"] != RED],
        "state": CREW.dump_python(book.team(), mode="json"),
        "items": [_item(book, tag, kind, day.trimmed) for tag, kind in day.gear.items()],
        "other_visits": VISITS.dump_python({BLUE: list(blue)}, mode="json"),
        "baths": [
            {
                "bath": own,
                "state": BATH.dump_python(book.bath(own), mode="json"),
                "dipped": len(book.dips(own)),
            }
            for own in book.baths()
        ],
        "plans": [_told(plan) for plan in book.plans_of()],
        "blocks": [{"code": code, "crop": crop, "tall_trees": tall} for code, (crop, tall) in BLOCKS.items()],
    }


def _item(book: Book, tag: str, kind: str, trimmed: bool) -> dict[str, Any]:
    state = book.item(tag)
    if trimmed:
        state = carried.carried(state, RULES.cleaning.get(kind, ()), MONDAY)
    void = {str(entry): why for entry, why in book.void(tag).items()}
    shown = ITEM.dump_python(state, mode="json")
    return {"tag": tag, "kind": kind, "size": "", "hand": "", "set": state.set, "state": shown, "void": void}


def _plan(number: int, told: Mapping[str, Any]) -> DayPlan:
    day = date.fromisoformat(told["date"])
    return DayPlan(pk=number, crew_id=RED, **{**told, "date": day, "block": _block(told["block"])})


def _block(code: str) -> Block:
    crop, tall = BLOCKS[code]
    return Block(code=code, crop=crop, tall_trees=tall)


def _told(plan: DayPlan) -> dict[str, Any]:
    return {
        "date": plan.date.isoformat(),
        "part": str(plan.part),
        "block": plan.block_id,
        "clipped": plan.clipped,
        "state": str(plan.state),
    }
