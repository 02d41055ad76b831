"""A phone's day comes out as the book's, hour by hour.

Random days are cut somewhere: the first part is fetched as a sheet, the rest recorded by the phone. Beside it stand the
same entries in one book. Compared are all states, which dips count, what falls due when and why, by when to dip, the
baths, the plans, the kits and the gate.
"""

from collections import Counter
from datetime import date, datetime
from functools import cache
from random import Random
from typing import Any

import pytest

from equipment.domain import bath, gate, kit
from equipment.domain.clock import CAUSES
from tests.orchard_book import BATH, CREW, ITEM, STORE, TRADE, Book, sheet
from tests.orchard_days import BATHS, CREW_OF, RED, Day, draw
from tests.phone import Phone
from tests.rulebook import RULES

DAYS = 600
TODAY = date(2026, 6, 1)
ASKED = """({day}, {sheet: own, entries, at, to, pickers, baths}, trade) => {
  const sheet = {...own, ...trade};
  const before = JSON.stringify(sheet);
  const now = day.apply(sheet, entries);
  if (JSON.stringify(sheet) !== before) throw new Error('the sheet was changed');
  const lines = ({missing, complete}) =>
    ({missing: missing.map(({kind, quantity, need}) => [kind, quantity, need]), complete});
  const told = (verdict) => verdict === null ? 'unknown' : verdict.why;
  const each = (tell) => Object.fromEntries(now.items.map((item) => [item.tag, tell(item)]));
  return {
    crew: now.state,
    baths: Object.fromEntries(now.baths.map((row) => [row.bath, {state: row.state, dipped: row.dipped}])),
    items: each((item) => item.state),
    void: each((item) => item.void),
    condition: each((item) => day.conditionOf(now, item.tag)),
    due: day.dueList(now, at),
    dip: day.dipBy(now, at),
    bath: Object.fromEntries(baths.map((own) => [own, told(day.bathVerdict(now, own, at))])),
    kits: pickers.map((picker) => lines(day.kitOf(now, picker))),
    crewKit: lines(day.crewKit(now)),
    gate: each((item) => day.verdict(now, item.tag, at, to)),
    plans: now.plans,
    unfolded: now.unfolded,
  };
}"""


def stamp(at: datetime | None) -> str | None:
    """As the phone writes times, and pydantic does."""
    return at.isoformat().replace("+00:00", "Z") if at else None


class Wanted:
    """What the book says of a day, in the shape of ASKED."""

    def __init__(self, day: Day, to: gate.To) -> None:
        self.day, self.to = day, to
        self.book = Book(day)
        for entry in day.entries[: day.cut]:
            self.book.write(entry)
        self.sheet = sheet(self.book, day)
        for entry in day.entries[day.cut :]:
            self.book.write(entry)
        self.conditions = {tag: self.book.condition(tag) for tag in day.gear}

    def all(self) -> dict[str, Any]:
        book, day = self.book, self.day
        due = self._due()
        return {
            "crew": CREW.dump_python(book.team(), mode="json"),
            "baths": {own: self._bath(own) for own in self.book.baths()},
            "items": {tag: ITEM.dump_python(book.item(tag), mode="json") for tag in day.gear},
            "void": {tag: {str(entry): why for entry, why in book.void(tag).items()} for tag in day.gear},
            "condition": {tag: self._condition(tag) for tag in day.gear},
            "due": due,
            "dip": self._dip(due),
            "bath": {own: self._verdict(own) for own in BATHS},
            "kits": [self._kit("picker", picker) for picker in CREW_OF],
            "crewKit": self._kit("crew", None),
            "gate": {tag: self._gate(tag) for tag in day.gear},
            "plans": sheet(book, day)["plans"],
            "unfolded": [],
        }

    def _bath(self, own: str) -> dict[str, Any]:
        return {
            "state": BATH.dump_python(self.book.bath(own), mode="json"),
            "dipped": len(self.book.dips(own)),
        }

    def _verdict(self, own: str) -> str | None:
        if own not in self.book.baths():
            return "unknown"
        return bath.against_now(self.book.bath(own), self.day.at, len(self.book.dips(own)))

    def _condition(self, tag: str) -> dict[str, Any]:
        found = self.conditions[tag]
        return {
            "stopping": [
                {
                    "fault": each.fault,
                    "entry": str(each.entry),
                    "at": stamp(each.at),
                    "mended_at": stamp(each.mended_at),
                    "mended_by": each.mended_by,
                    "release": each.release,
                }
                for each in found.stopping
            ],
            "never": found.never,
            "mending": [
                {"fault": each.fault, "found": stamp(each.at), "until": stamp(until)}
                for each, until in found.mending
            ],
            "cleanings": [
                {
                    "method": each.method,
                    "at": stamp(each.at),
                    "cause": each.cause,
                    "since": stamp(each.since),
                    "holds": each.holds,
                }
                for each in found.cleanings
            ],
            "inspections": [
                {
                    "checklist": each.checklist,
                    "at": stamp(each.at),
                    "holds": each.holds,
                    "last": stamp(each.last),
                }
                for each in found.inspections
            ],
            "flags": list(found.flags),
        }

    def _due(self) -> list[dict[str, Any]]:
        found = []
        for tag, kind in self.day.gear.items():
            state = self.book.item(tag)
            known = sorted(
                (each for each in self.conditions[tag].cleanings if each.at), key=lambda each: each.at
            )
            if not known or not state.out or state.crew != RED:
                continue
            told = [
                {
                    "method": each.method,
                    "at": stamp(each.at),
                    "cause": each.cause,
                    "holds": each.holds,
                    "over": each.at <= self.day.at,
                }
                for each in known
            ]
            found.append((known[0].at, {"tag": tag, "kind": kind, "picker": state.picker, "due": told}))
        return [line for _, line in sorted(found, key=lambda each: (each[0], each[1]["tag"]))]

    def _dip(self, due: list[dict[str, Any]]) -> dict[str, Any] | None:
        """As `equipment.models.overdue.next_dip`, with the tags."""
        times = sorted(
            (datetime.fromisoformat(each["at"]), line["tag"], each["cause"])
            for line in due
            for each in line["due"]
            if each["method"] == "sterilise"
        )
        if not times:
            return None
        first = times[0]
        tags = [tag for at, tag, _ in times if at <= max(first[0], self.day.at)]
        return {"at": stamp(first[0]), "cause": first[2], "tags": tags}

    def _kit(self, holder: str, picker: int | None) -> dict[str, Any]:
        present = len(self.book.team().members) if holder == "crew" else 0
        planned = self.book.plans_of(TODAY)
        lines = self.book.lines_for(holder, TODAY, present) if planned or holder == "picker" else ()
        waived = self.book.waived(picker, TODAY) if picker else ()
        held = self.book.held(picker, self.day.gear)
        short = kit.missing(lines, held, waived)
        return {
            "missing": [[line.kind, line.quantity, line.need] for line in short],
            "complete": kit.complete(lines, held, waived),
        }

    def _gate(self, tag: str) -> dict[str, Any]:
        state = self.book.item(tag)
        found = gate.verdict(state, RULES, self.day.at, self.to, around=self.book.around(tag))
        reasons = [
            {
                "code": each.code,
                "blocks": each.blocks,
                "override": list(each.override),
                "params": {
                    name: stamp(value) if isinstance(value, datetime) else value
                    for name, value in each.params.items()
                },
            }
            for each in found.reasons
        ]
        return {"fit": found.fit, "reasons": reasons}


def recipient(random: Random) -> gate.To:
    return random.choice(
        [
            gate.To(STORE, 1, RED),
            gate.To(STORE, 2, RED, "crew:RED"),
            gate.To(STORE, 3, "BLUE", "picker:1"),
            gate.To("B", None, RED),
        ]
    )


def vector(wanted: Wanted) -> dict[str, Any]:
    to, day = wanted.to, wanted.day
    return {
        "sheet": wanted.sheet,
        "entries": Random(day.cut).sample(day.entries[day.cut :], len(day.entries) - day.cut),
        "at": day.at.isoformat(),
        "to": {"store": to.store, "picker": to.picker, "crew": to.crew, "from": to.from_holder},
        "pickers": list(CREW_OF),
        "baths": list(BATHS),
    }


def comparable(answer: dict[str, Any], day: Day) -> dict[str, Any]:
    """Where the sheet was trimmed the stints that no clock asks for are not there to compare. Which faults nobody may
    override is a set."""
    for tag, found in answer["condition"].items():
        answer["condition"][tag] = {**found, "never": sorted(set(found["never"]))}
    if day.trimmed:
        answer["items"] = {tag: {**state, "stints": None} for tag, state in answer["items"].items()}
    return answer


@cache
def days() -> list[Wanted]:
    random = Random("a phone's day")
    return [Wanted(draw(random), recipient(random)) for _ in range(DAYS)]


@pytest.fixture(scope="module")
def answers(phone: Phone) -> list[tuple[Day, dict[str, Any], dict[str, Any]]]:
    """Day, what the phone says, what the book says."""
    found = phone(ASKED, [vector(wanted) for wanted in days()], TRADE)
    return [
        (wanted.day, comparable(answer, wanted.day), comparable(wanted.all(), wanted.day))
        for wanted, answer in zip(days(), found, strict=True)
    ]


PARTS = "crew baths items void condition due dip bath kits crewKit gate plans unfolded".split()


@pytest.mark.parametrize("part", PARTS)
def test_the_phone_says_what_the_book_says(
    answers: list[tuple[Day, dict[str, Any], dict[str, Any]]], part: str
) -> None:
    differing = [
        (day, said[part], wanted[part]) for day, said, wanted in answers if said[part] != wanted[part]
    ]
    assert not differing, (len(differing), differing[0])


def test_the_days_meet_what_can_happen(
    answers: list[tuple[Day, dict[str, Any], dict[str, Any]]],
) -> None:
    """Every cause, every flaw of a bath, every verdict, more than once or twice."""
    causes, flaws, codes, dips = Counter[Any](), Counter[Any](), Counter[Any](), 0
    for _, _, wanted in answers:
        causes.update(due["cause"] for found in wanted["condition"].values() for due in found["cleanings"])
        flaws.update(
            [*wanted["bath"].values(), *(why for void in wanted["void"].values() for why in void.values())]
        )
        codes.update(reason["code"] for found in wanted["gate"].values() for reason in found["reasons"])
        dips += wanted["dip"] is not None
    assert dips > DAYS / 4
    assert all(causes[cause] > 20 for cause in (*CAUSES, None)), causes
    assert all(flaws[flaw] > 5 for flaw in (*bath.WORDS, None)), flaws
    # In nobody's hands is a wrong size here, and nothing is written off in an orchard.
    assert all(codes[code] > 10 for code in set(gate.WORDS) - {"wrong_size", "written_off"}), codes
